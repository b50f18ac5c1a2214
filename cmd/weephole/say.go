package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"weephole/internal/atomicfile"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/internal/say"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/sheet"
)

const sayLong = `Reads what a colleague would say and offers the findings that it means. With a
job file the offers are confirmed one by one and written into it; --yes takes the
best offer of each part that is sure enough. What is not understood becomes a
remark, so that nothing is lost. Without a job it only says what the text means.

A number without a unit is taken in the shop's units and said back. Nothing
leaves this machine, and the same text always means the same.`

const sayExamples = `  weephole say "upper hose 185, lower cold after ten minutes idling, fan never came on"
  weephole say hill-climber.yaml "no leaks, loses coolant, heater blows cold"
  weephole say --json "P0128, gauge never above the middle"`

// sayFlags are the flags of say.
type sayFlags struct {
	json, yes bool
	units     string
	overlay   []string
}

func sayCommand(env environment) *cobra.Command {
	var f sayFlags
	cmd := &cobra.Command{
		Use:     "say [JOB] TEXT",
		Short:   "find the words for what was seen, and write them into the job",
		Long:    sayLong,
		Example: sayExamples,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return exit.Usage(fmt.Errorf("say needs a text, or a job file and a text, in quotes; it got %d arguments", len(args)))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(env, args) },
	}
	fl := cmd.Flags()
	fl.BoolVar(&f.json, "json", false, "print a JSON object")
	fl.BoolVar(&f.yes, "yes", false, "write the best offer of each part without asking")
	fl.StringVar(&f.units, "units", "", `units of bare numbers, "us" or "metric" (default: the job's, or us)`)
	fl.StringArrayVar(&f.overlay, "overlay", nil, "the shop's own sheet of words and phrases; may be repeated")
	return cmd
}

func (f *sayFlags) run(env environment, args []string) error {
	m, err := env.knowledge(f.overlay)
	if err != nil {
		return err
	}
	x, err := phrases(m, f.overlay)
	if err != nil {
		return err
	}
	text := args[len(args)-1]
	if f.units != "" && f.units != "us" && f.units != "metric" {
		return exit.Usage(fmt.Errorf("--units %q: write us or metric", f.units))
	}
	if len(args) == 1 {
		return f.only(env, x, text, "")
	}
	src, err := os.ReadFile(args[0])
	if err != nil {
		return exit.Wrong(err)
	}
	words := work.Vocabulary(m)
	j, err := job.Read(strings.NewReader(string(src)), args[0], words)
	if err != nil {
		return exit.Wrong(err)
	}
	if f.json {
		return f.only(env, x, text, j.Shop.Units)
	}
	w := writer{env: env, words: words, model: m, name: args[0], text: string(src), yes: f.yes}
	if !f.yes && !env.IsTerminal {
		if err := f.only(env, x, text, j.Shop.Units); err != nil {
			return err
		}
		fmt.Fprintf(env.Err, "nothing was written; confirm with --yes, or on a terminal\n")
		return nil
	}
	if err := w.parts(x.Parts(text, f.shop(j.Shop.Units))); err != nil {
		return err
	}
	return w.keep()
}

// shop are the units of bare numbers.
func (f *sayFlags) shop(units string) string {
	switch {
	case f.units != "":
		return f.units
	case units != "":
		return units
	}
	return "us"
}

// only says what a text means, without a job to write into.
func (f *sayFlags) only(env environment, x *say.Lexicon, text, units string) error {
	a := x.Read(text, f.shop(units))
	if f.json {
		return writeJSON(env, a)
	}
	for i := range a.Offers {
		o := &a.Offers[i]
		fmt.Fprintf(env.Out, "%-46s %s\n", line(o), o.Text)
	}
	for _, r := range a.Remarks {
		fmt.Fprintf(env.Out, "not understood, kept as a remark: %s\n", r)
	}
	return nil
}

// phrases are the lexicon with the shop's own sheets.
func phrases(m *lineup.Model, overlays []string) (*say.Lexicon, error) {
	var sheets []sheet.Source
	for _, name := range overlays {
		data, err := os.ReadFile(name)
		if err != nil {
			return nil, exit.Wrong(fmt.Errorf("overlay: %w", err))
		}
		sheets = append(sheets, sheet.Source{Name: name, Data: data})
	}
	x, err := say.New(m.Checks, sheets...)
	if err != nil {
		return nil, exit.Wrong(err)
	}
	return x, nil
}

// line is an offer as it would stand in the job file.
func line(o *say.Offer) string {
	switch {
	case o.Check != "":
		return finding(o)
	case o.Sign != "" && o.Found == "no":
		return "{denied: " + o.Sign + "}"
	case o.Sign != "":
		return finding(o)
	case o.Condition != "":
		return "complaint: {" + o.Found + ": [" + o.Condition + "]}"
	case o.Repair != "":
		return finding(o)
	case o.Work != "":
		return "recent-work: {what: " + o.Work + "}"
	}
	return "vehicle: {" + o.Car + ": " + job.Quoted(o.Found) + "}"
}

// finding is an offer as a finding in braces.
func finding(o *say.Offer) string {
	var parts []string
	switch {
	case o.Check != "":
		parts = append(parts, "check: "+o.Check)
		if len(o.Codes) > 0 {
			parts = append(parts, "codes: ["+strings.Join(o.Codes, ", ")+"]")
		} else if o.Found != "" {
			parts = append(parts, "found: "+o.Found)
		}
		if len(o.Read) > 0 {
			var read []string
			for _, id := range slices.Sorted(maps.Keys(o.Read)) {
				read = append(read, id+": "+job.Quoted(o.Read[id]))
			}
			parts = append(parts, "read: {"+strings.Join(read, ", ")+"}")
		}
	case o.Sign != "" && o.Found == "no":
		parts = append(parts, "denied: "+o.Sign)
	case o.Sign != "":
		parts = append(parts, "sign: "+o.Sign)
		if v := o.Read["needle"]; v != "" {
			parts = append(parts, "note: "+job.Quoted("needle at "+v))
		}
	case o.Repair != "":
		parts = append(parts, "repair: "+o.Repair)
		if o.Found != "" {
			parts = append(parts, "changed: "+o.Found)
		}
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// writer confirms offers and writes them into a job file.
type writer struct {
	env   environment
	words job.Vocabulary
	model *lineup.Model
	name  string
	text  string
	yes   bool
	in    *bufio.Reader
	wrote int
}

func (w *writer) parts(list []say.Part) error {
	w.in = bufio.NewReader(w.env.In)
	for i := range list {
		p := &list[i]
		o, skip, err := w.choose(p)
		switch {
		case err != nil:
			return err
		case skip:
		case o == nil:
			w.put("findings", "{note: "+job.Quoted(p.Text)+"}", false)
		default:
			w.offer(o)
		}
	}
	return nil
}

// choose picks an offer of a part: the best one with --yes, else who sits at the
// terminal. Nil is a remark.
func (w *writer) choose(p *say.Part) (o *say.Offer, skip bool, err error) {
	if w.yes {
		if len(p.Offers) > 0 && p.Offers[0].Sure() {
			return &p.Offers[0], false, nil
		}
		return nil, false, nil
	}
	fmt.Fprintf(w.env.Out, "\n“%s”\n", p.Text)
	n := min(3, len(p.Offers))
	for i := range p.Offers[:n] {
		fmt.Fprintf(w.env.Out, "  %d  %s\n     %s\n", i+1, p.Offers[i].Text, line(&p.Offers[i]))
	}
	fmt.Fprintf(w.env.Out, "number, r for a remark, Enter to leave it out: ")
	answer, err := w.in.ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, false, fmt.Errorf("read the answer: %w", err)
	}
	switch answer = strings.TrimSpace(answer); {
	case answer == "r":
		return nil, false, nil
	case len(answer) == 1 && answer[0] >= '1' && int(answer[0]-'0') <= n:
		return &p.Offers[answer[0]-'1'], false, nil
	}
	return nil, true, nil
}

// offer writes one confirmed offer where it belongs: what owners complain of and
// when into the complaint, what was seen and done among the findings.
func (w *writer) offer(o *say.Offer) {
	switch {
	case o.Sign != "" && !w.model.Checks.Signs[w.model.Checks.SignIndex(o.Sign)].Detail:
		key := "complaint.signs"
		if o.Found == "no" {
			key = "complaint.denied"
		}
		w.put(key, o.Sign, true)
	case o.Condition != "":
		w.put("complaint."+o.Found, o.Condition, true)
	case o.Work != "":
		w.put("recent-work", "{what: "+o.Work+", note: "+job.Quoted(o.Of)+"}", false)
	case o.Car != "":
		key, value := o.Car, job.Quoted(o.Found)
		if table, sub, ok := strings.Cut(key, "."); ok {
			key, value = table, "{"+sub+": "+value+"}"
		}
		w.put("vehicle."+key, value, false)
	default:
		w.put("findings", finding(o), false)
	}
}

// put inserts one thing and keeps it if the job can still be read.
func (w *writer) put(path, value string, list bool) {
	text, ok := job.Insert(w.text, path, value, list)
	if ok {
		_, err := job.Read(strings.NewReader(text), w.name, w.words)
		ok = err == nil
	}
	if !ok {
		fmt.Fprintf(w.env.Err, "not written, put it in by hand: %s: %s\n", path, value)
		return
	}
	w.text = text
	w.wrote++
	fmt.Fprintf(w.env.Out, "%s: %s\n", path, value)
}

// keep writes the job file, whole or not at all.
func (w *writer) keep() error {
	if w.wrote == 0 {
		return nil
	}
	perm := os.FileMode(0o644)
	if info, err := os.Stat(w.name); err == nil {
		perm = info.Mode().Perm()
	}
	if err := atomicfile.WriteFile(w.name, []byte(w.text), perm); err != nil {
		return fmt.Errorf("write %s: %w", w.name, err)
	}
	return nil
}
