package main

import (
	"context"
	"fmt"
	"math"

	"weephole/internal/answer"
	"weephole/internal/casework"
	"weephole/internal/demo"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/lineup"

	"github.com/spf13/cobra"
)

const demoLong = `Works five invented jobs from complaint to verdict on the screen: after the
complaint and after every finding it says what still fits, and at the end why,
what to do next, and what the other shop's quote is worth. All cars, shops and
people are invented.`

const demoExamples = `  weephole demo
  weephole demo --only gasket
  weephole demo --list`

// demoCandidates is fewer than for a real job: a demonstration should not keep
// anybody waiting.
const demoCandidates = 6000

func demoCommand(env environment) *cobra.Command {
	var f workFlags
	var only string
	var list bool
	cmd := &cobra.Command{
		Use:     "demo",
		Short:   "work five invented jobs from complaint to verdict",
		Long:    demoLong,
		Example: demoExamples,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			m, err := knowledge(f.overlay)
			if err != nil {
				return err
			}
			p := &answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			told := 0
			for _, name := range demo.Names() {
				j, err := demoJob(m, name)
				if err != nil {
					return err
				}
				if list {
					p.Line("%-10s %s: %s", j.Name, j.Vehicle.Name, j.Complaint.Words)
					told++
					continue
				}
				if only != "" && j.Name != only {
					continue
				}
				told++
				if err := tell(cmd.Context(), env, p, m, f, j); err != nil {
					return fmt.Errorf("demo %s: %w", name, err)
				}
			}
			if told == 0 {
				return exit.Usage(fmt.Errorf("--only %s: no such job; see weephole demo --list", only))
			}
			return p.Err()
		},
	}
	f.add(cmd)
	f.candidates = demoCandidates
	cmd.Flags().Lookup("candidates").DefValue = fmt.Sprint(demoCandidates)
	cmd.Flags().StringVar(&only, "only", "", "work one job only")
	cmd.Flags().BoolVar(&list, "list", false, "list the jobs and end")
	return cmd
}

func demoJob(m *lineup.Model, name string) (*job.Job, error) {
	r, err := demo.Open(name)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return job.Read(r, name, casework.Vocabulary(m))
}

// tell works one job and says what happens.
func tell(ctx context.Context, env environment, p *answer.Page, m *lineup.Model, f workFlags, j *job.Job) error {
	b, err := newBench(ctx, m, f, j, demo.Open)
	if err != nil {
		return err
	}
	p.Head(j.Vehicle.Name)
	p.Para("", "“"+j.Complaint.Words+"”")
	if q := j.Quote; q != nil {
		p.Para("", fmt.Sprintf("Another shop has quoted %s for: %s.", q.Price.Text, m.Causes.Repair(q.Repair).Name))
	}
	events := b.work.Case.Events
	b.work.Case.Events = nil
	l, err := b.lineup(ctx, env, true)
	if err != nil {
		return err
	}
	p.Line("")
	p.Para("", "After the complaint: "+leading(b, l)+".")
	for _, ev := range events {
		if l, err = l.Extend(ctx, ev); err != nil {
			return err
		}
		p.Para("", "Then "+happened(m, ev)+": "+leading(b, l)+".")
	}
	b.work.Case.Events = events
	if l, err = l.Closer(ctx); err != nil {
		return err
	}
	p.Line("")
	o := b.odds(l)
	p.Odds(&o)
	n, err := b.next(ctx, l, nil)
	if err != nil {
		return err
	}
	p.Head("What now?")
	p.Next(n)
	p.Line("")
	return p.Err()
}

// leading names the two likeliest causes with their counts.
func leading(b *bench, l *lineup.Lineup) string {
	p := l.Probabilities()
	first, second := 0, 1
	for i := range p {
		switch {
		case p[i] > p[first]:
			first, second = i, first
		case i != first && (second == first || p[i] > p[second]):
			second = i
		}
	}
	causes := b.model.Causes.Causes
	return fmt.Sprintf("%s %d of 100, %s %d of 100", causes[first].Name, int(math.Round(100*p[first])),
		causes[second].Name, int(math.Round(100*p[second])))
}

// happened says an event in a few words.
func happened(m *lineup.Model, ev lineup.Event) string {
	if ev.Repair != "" {
		return fmt.Sprintf("“%s” had been tried and changed: %s", m.Causes.Repair(ev.Repair).Name, ev.Changed)
	}
	c := m.Checks.Check(ev.Check)
	if w := c.WordIndex(ev.Word); w >= 0 {
		return fmt.Sprintf("%s, %s", c.Name, c.Words[w].Says)
	}
	return c.Name
}
