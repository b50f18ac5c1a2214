package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"weephole/internal/chart"
	"weephole/internal/chart/traceplot"
	"weephole/internal/exit"
	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"

	"github.com/spf13/cobra"
)

// oneOrTwoLogs is what the trace command takes.
func oneOrTwoLogs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 || len(args) > 2 {
		return exit.Usage(fmt.Errorf("%s takes one LOG, or two to compare, but got %d", cmd.Name(), len(args)))
	}
	return nil
}

// pairReport is two logs side by side in JSON (docs/traces.md).
type pairReport struct {
	A           events.Report    `json:"a"`
	B           events.Report    `json:"b"`
	Differences []pairDifference `json:"differences"`
}

type pairDifference struct {
	Number string     `json:"number"`
	Unit   string     `json:"unit"`
	A      events.Num `json:"a"`
	B      events.Num `json:"b"`
	By     events.Num `json:"by"`
	Sigma  events.Num `json:"sigma"`
	Beyond bool       `json:"beyond"`
}

// pair answers for two logs.
func (f traceFlags) pair(cmd *cobra.Command, env environment, args []string, o trace.ReadOptions, u quantity.Units) error {
	if f.job != "" {
		return exit.Usage(fmt.Errorf("--job goes with one LOG; give one, or leave --job out"))
	}
	var t [2]*trace.Trace
	for i, name := range args {
		var err error
		if t[i], err = readLog(cmd.Context(), env.In, name, o); err != nil {
			return err
		}
	}
	plot := traceplot.Pair(t[0], t[1], u)
	if f.svg != "" {
		plot.Standalone = true
		if _, err := writeAll(env, output{f.svg, func(w io.Writer) error { _, err := io.WriteString(w, plot.SVG()); return err }}); err != nil {
			return err
		}
	}
	numbers := func(t *trace.Trace) events.RunNumbers {
		return events.NumbersOf(t, t.Drives[events.MainDrive(t)])
	}
	differences := events.Compare(numbers(t[0]), numbers(t[1]))
	if f.json {
		r := pairReport{A: events.ReportOf(t[0], u), B: events.ReportOf(t[1], u), Differences: []pairDifference{}}
		for _, d := range differences {
			r.Differences = append(r.Differences, pairDifference{d.Kind.String(), d.Kind.Unit(), events.Num(d.A.Value), events.Num(d.B.Value), events.Num(d.By.Value), events.Num(d.By.Sigma), d.Beyond})
		}
		return json.NewEncoder(env.Out).Encode(r)
	}
	plot.Title = ""
	picture := plot.Text(chart.Terminal{Width: min(env.Width, 110), Height: 20, Color: env.Color(cmd)})
	_, err := io.WriteString(env.Out, pairText(t, differences, u, picture))
	return err
}

// pairText is the answer for two logs for people.
func pairText(t [2]*trace.Trace, differences []events.Difference, u quantity.Units, picture string) string {
	var b strings.Builder
	for i, t := range t {
		b.WriteString(choicesText(t))
		fmt.Fprintf(&b, "%c, %s: %s\n", 'A'+i, t.Name, events.InLog(t).Summary(u))
	}
	fmt.Fprintf(&b, "\n%s\n", picture)
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(w, "\tA\tB\tdifference\tgive or take\t\t\n")
	for _, d := range differences {
		if d.A.Value == 0 && d.B.Value == 0 {
			continue // neither boils nor jumps
		}
		name, mark := events.Label(d.Kind, u), ""
		if d.Beyond {
			mark = "*"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t\n", name, events.InUnits(d.Kind, d.A.Value, u), events.InUnits(d.Kind, d.B.Value, u),
			events.ByUnits(d.Kind, d.By.Value, u), events.ByUnits(d.Kind, d.By.Sigma, u), mark)
	}
	_ = w.Flush()
	b.WriteString("* further apart than both readings are uncertain. Other air, roads and loads make differences too.\n")
	return b.String()
}
