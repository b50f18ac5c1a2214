package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"weephole/internal/answer"
	"weephole/internal/demo"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/internal/tally"
	"weephole/internal/work"
	"weephole/lineup"

	"github.com/spf13/cobra"
)

const demoLong = `Works an invented job from complaint to closing. It shows what is probable after
each finding, what to do next, and what the other shop's quote is worth. The
repair, its proof and the owner's letter follow. There are five jobs; --only picks
one, and --all tells every one of them in full.

A folder (--out) gets the job file, its logs, the repair sheet, the letter and the
tally. Read them, and try the other commands on them. All cars, shops and people
are invented; the folder's LOGS.md says which logs are simulated.`

const demoExamples = `  weephole demo
  weephole demo --only gasket --out gasket
  weephole demo --all
  weephole demo --list`

// demoCandidates is fewer than for a real job: a demonstration should not keep
// anybody waiting.
const demoCandidates = 6000

func demoCommand(env environment) *cobra.Command {
	var f workFlags
	var only, out string
	var list, all bool
	cmd := &cobra.Command{
		Use:     "demo",
		Short:   "work an invented job from complaint to closing",
		Long:    demoLong,
		Example: demoExamples,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			m, err := env.knowledge(f.overlay)
			if err != nil {
				return err
			}
			d := &demonstration{env: env, model: m, flags: f, page: env.page(cmd), full: all}
			if list {
				return d.list()
			}
			chosen := demo.Names()[:1]
			if all {
				chosen = demo.Names()
			}
			if only != "" {
				if chosen = demo.Named(only); len(chosen) == 0 {
					return exit.Usage(fmt.Errorf("--only %s: no such job; see weephole demo --list", only))
				}
			}
			if d.out, err = demoFolder(out); err != nil {
				return err
			}
			for _, file := range chosen {
				if err := d.tell(cmd.Context(), file); err != nil {
					return fmt.Errorf("demo %s: %w", file, err)
				}
			}
			return d.end()
		},
	}
	f.addWork(cmd)
	f.candidates = demoCandidates
	cmd.Flags().Lookup("candidates").DefValue = fmt.Sprint(demoCandidates)
	cmd.Flags().StringVar(&only, "only", "", "work this job (--list names them)")
	cmd.Flags().StringVar(&out, "out", "", "folder for job files, sheets, letters and tally (default: a new temporary one)")
	cmd.Flags().BoolVar(&all, "all", false, "tell all jobs in full; with --only, that one in full")
	cmd.Flags().BoolVar(&list, "list", false, "list the jobs and end")
	return cmd
}

func demoFolder(name string) (string, error) {
	if name == "" {
		return os.MkdirTemp("", "weephole-demo-")
	}
	const open = 0o755
	if err := os.MkdirAll(name, open); err != nil {
		return "", exit.Wrong(err)
	}
	return name, nil
}

// demonstration works the jobs one after the other.
type demonstration struct {
	env   environment
	page  *answer.Page
	model *lineup.Model
	flags workFlags
	full  bool
	out   string   // folder
	told  []string // names of the jobs worked
}

func (d *demonstration) list() error {
	for _, file := range demo.Names() {
		j, err := d.job(file)
		if err != nil {
			return err
		}
		d.page.Line("%-10s %s: %s", j.Name, j.Vehicle.Name, j.Complaint.Words)
	}
	return d.page.Err()
}

// job reads a whole job, from complaint to closing.
func (d *demonstration) job(file string) (*job.Job, error) {
	text, err := demo.Whole(file)
	if err != nil {
		return nil, err
	}
	return job.Read(bytes.NewReader(text), file, work.Vocabulary(d.model))
}

// tell works one job and says what happens.
func (d *demonstration) tell(ctx context.Context, file string) error {
	text, err := demo.Whole(file)
	if err != nil {
		return err
	}
	w, err := d.flags.openFrom(ctx, d.env, d.model, bytes.NewReader(text), file, demo.Open)
	if err != nil {
		return err
	}
	d.told = append(d.told, w.Job.Name)
	x := &demoJob{demonstration: d, file: file, Work: w, style: answer.StyleOf(w)}
	if x.open, err = x.opened(); err != nil {
		return err
	}
	for _, part := range []func(context.Context) error{x.diagnose, x.repair, x.close} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	return d.page.Err()
}

// write writes a file into the folder and gives its path.
func (d *demonstration) write(name string, fill func(io.Writer) error) (string, error) {
	path := filepath.Join(d.out, name)
	_, err := writeAll(d.env, output{path, fill})
	return path, err
}

func (d *demonstration) tally() string { return filepath.Join(d.out, "tally.jsonl") }

// end sums up what the closed jobs have taught, and says how to go on.
func (d *demonstration) end() error {
	t, err := readTally(d.tally())
	if err != nil {
		return err
	}
	p := d.page
	if d.full {
		p.Head("What the closed jobs have taught")
		for _, c := range t.Counts() {
			p.Line("%d  %s", c.Closed, c.Cause)
		}
	}
	shop, err := d.write("shop.yaml", func(out io.Writer) error { return t.Overlay(out, tally.DefaultTrustRules()) })
	if err != nil {
		return err
	}
	if d.full {
		p.Line("")
		p.Para("", "As a sheet to read, edit and give to the next job with --overlay: "+shop)
	} else {
		p.Head("The other jobs")
		for _, file := range demo.Names() {
			if j, err := d.job(file); err != nil {
				return err
			} else if j.Name != d.told[0] {
				p.Line("  %-8s %s", j.Name, cut(j.Complaint.Words, p.Width-11))
			}
		}
	}
	p.Line("")
	p.Line("The files are in %s. Try:", d.out)
	p.Line("  %s odds %s", d.env.Program, filepath.Join(d.out, d.told[0]+".yaml"))
	p.Line("  %s demo --only %s        another job; --all tells all in full", d.env.Program, demo.Name(demo.Names()[1]))
	p.Line("  %s serve                  the bench, for phone, tablet and laptop", d.env.Program)
	return p.Err()
}

// cut shortens a text to so many letters.
func cut(text string, letters int) string {
	if r := []rune(text); len(r) > letters {
		return string(r[:letters-1]) + "…"
	}
	return text
}
