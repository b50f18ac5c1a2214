package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"weephole/cause"
	"weephole/internal/chart"
	"weephole/internal/chart/traceplot"
	"weephole/internal/exit"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"

	"github.com/spf13/cobra"
)

const traceLong = `Reads a log of coolant temperature and says what happened in it: how the engine
warmed up, when the thermostat opened, and what temperature it holds. It says what
the fan did, and whether it climbed or boiled. It draws the coolant with the
events marked.

LOG is any delimited text that a logger writes (comma, semicolon, tab), plain or
gzip or zip; - reads the standard input. Columns, units and the clock are found
by name or, where names fail, from the numbers. What had to be assumed is listed
after the answer. If a column was misread, say so with --map:

  --map coolant="Temp 1"          this column is the coolant
  --map coolant=#3@F              the third column, in °F
  --map time=Stamp@ms             the clock, in milliseconds
  --map ignore="Oil temp"         leave this one out

Two LOGs, such as before and after a repair, are drawn over each other from the
start of the engine, with their numbers side by side.

Where a file can be read in two ways, both are shown and the log does not count
until you choose: --clock COLUMN[@UNIT], short for --map time=...

A log without any time needs --rate, the rows per second.

Warming up an engine to log it: chock the wheels, keep hands and sleeves off the
belt and the fan, never open the cap of a hot system, and never run an engine in
a closed room.`

const traceExamples = `  weephole trace idle-from-cold.csv
  weephole trace drive.csv.gz --units us --svg drive.svg
  weephole trace old-logger.txt --rate 2 --map coolant=#2@F
  weephole trace before.csv after.csv
  weephole trace drive.csv --json`

// traceFlags are the flags as typed.
type traceFlags struct {
	maps    []string
	clock   string
	rate    float64
	drive   int
	ambient string
	svg     string
	job     string
	units   string
	json    bool
}

func traceCommand(env environment) *cobra.Command {
	var typed traceFlags
	cmd := &cobra.Command{
		Use:     "trace LOG [LOG] [flags]",
		Short:   "say what happened in a log of coolant temperature, and draw it",
		Long:    traceLong,
		Example: traceExamples,
		Args:    oneOrTwoLogs,
		RunE: func(cmd *cobra.Command, args []string) error {
			units, err := quantity.ParseUnits(typed.units)
			if err != nil {
				return exit.Usage(fmt.Errorf("--units: %w", err))
			}
			if err := oneAnswer(typed.json, typed.svg); err != nil {
				return err
			}
			options, err := typed.options()
			if err != nil {
				return exit.Usage(err)
			}
			if len(args) == 2 {
				return typed.pair(cmd, env, args, options, units)
			}
			t, err := readLog(cmd.Context(), env.In, args[0], options)
			if err != nil {
				return err
			}
			bands, err := typed.bands(cmd.Context(), env, t)
			if err != nil {
				return err
			}
			plot := traceplot.Plot(t, units, bands...)
			if typed.svg != "" {
				plot.Standalone = true
				if _, err := writeAll(env, output{typed.svg, func(w io.Writer) error { _, err := io.WriteString(w, plot.SVG()); return err }}); err != nil {
					return err
				}
			}
			if typed.json {
				enc := json.NewEncoder(env.Out)
				return enc.Encode(events.ReportOf(t, units))
			}
			plot.Title = ""
			picture := plot.Text(chart.Terminal{Width: min(env.Width, 110), Height: 20, Color: env.Color(cmd)})
			_, err = io.WriteString(env.Out, traceText(t, units, picture))
			return err
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&typed.maps, "map", nil, `SIGNAL=COLUMN, SIGNAL=#NUMBER, with @UNIT behind it; may be repeated`)
	f.StringVar(&typed.clock, "clock", "", `the column with the time, with @UNIT behind it if wanted: "Elapsed@ms", "#3"`)
	f.Float64Var(&typed.rate, "rate", 0, "rows per second, for a log without any time")
	f.IntVar(&typed.drive, "drive", 0, "look at this drive only, counted from 1")
	f.StringVar(&typed.ambient, "ambient", "", `temperature outside, such as "5 °C", if the log does not have it`)
	f.StringVar(&typed.job, "job", "", "a job file: draw behind the log what engines with its leading causes would have read")
	f.StringVar(&typed.svg, "svg", "", "also write the chart to this file, for print")
	f.StringVar(&typed.units, "units", "metric", `units of the answer: metric, us, or a mixture such as "metric, psi"`)
	f.BoolVar(&typed.json, "json", false, "everything as a JSON object (docs/traces.md)")
	return cmd
}

// traceCandidates is enough for a band, and quick.
const traceCandidates = 5000

// bands weighs the job together with this log, and runs engines that have each
// of the two leading causes along it.
func (f traceFlags) bands(ctx context.Context, env environment, t *trace.Trace) ([]chart.Band, error) {
	if f.job == "" || len(t.Time) == 0 {
		return nil, nil
	}
	flags := workFlags{seed: 1, candidates: traceCandidates, json: f.json}
	w, err := flags.open(ctx, env, f.job)
	if err != nil {
		return nil, err
	}
	log := work.Log(t)
	if len(log.Segments) == 0 {
		return nil, nil
	}
	known := false // the job may name this very log
	for _, tr := range w.Traces {
		known = known || filepath.Base(tr.Name) == filepath.Base(t.Name)
	}
	if !known {
		w.Case.Events = append(w.Case.Events, lineup.Event{Check: "drive-log", Log: log})
	}
	l, err := w.Lineup(ctx)
	if err != nil {
		return nil, err
	}
	var out []chart.Band
	for _, c := range l.Odds().Causes {
		index := w.Model.Causes.Index(c.Cause)
		var having []lineup.Engine
		for _, e := range l.Engines() {
			if len(e.Faults) == 0 && index == w.Model.Causes.NoFault() || slices.ContainsFunc(e.Faults, func(p cause.Present) bool { return p.Cause == index }) {
				having = append(having, e)
			}
		}
		band, err := w.BandAlong(ctx, w.Case.Shop, log, t, having)
		if err != nil {
			return nil, err
		}
		if band != nil {
			out = append(out, chart.Band{Name: c.Name, X: band.Minutes, Low: band.LowC, High: band.HighC})
		}
		if len(out) == 2 {
			break
		}
	}
	return out, nil
}

// options turns the flags into how to read.
func (f traceFlags) options() (trace.ReadOptions, error) {
	o := trace.ReadOptions{Rate: f.rate, Drive: f.drive, Flags: true}
	for _, m := range f.maps {
		word, column, ok := strings.Cut(m, "=")
		if !ok {
			return o, fmt.Errorf("--map %s: an equals sign is missing; write --map 'coolant=NAME OF COLUMN'", m)
		}
		if o.Map == nil {
			o.Map = map[string]string{}
		}
		if _, twice := o.Map[word]; twice {
			return o, fmt.Errorf("--map %s: %s is given twice; keep one", m, word)
		}
		o.Map[word] = column
	}
	if f.clock != "" {
		if _, twice := o.Map["time"]; twice {
			return o, fmt.Errorf("--clock %s: --map time is given too; keep one", f.clock)
		}
		if o.Map == nil {
			o.Map = map[string]string{}
		}
		o.Map["time"] = f.clock
	}
	if f.rate < 0 {
		return o, fmt.Errorf("--rate %g: write the rows per second, above 0", f.rate)
	}
	if f.drive < 0 {
		return o, fmt.Errorf("--drive %d: drives are counted from 1", f.drive)
	}
	if f.ambient != "" {
		t, err := quantity.ParseTemperature(f.ambient)
		if err != nil {
			return o, fmt.Errorf("--ambient: %w", err)
		}
		o.Ambient, o.AmbientKnown = t.Celsius(), true
	}
	return o, nil
}

// readLog opens and reads a log; a log that cannot be used is the user's to mend.
func readLog(ctx context.Context, stdin io.Reader, path string, o trace.ReadOptions) (*trace.Trace, error) {
	in, name := stdin, "standard input"
	if path != "-" {
		file, err := os.Open(path)
		if err != nil {
			return nil, exit.Wrong(fmt.Errorf("open the log: %w", err))
		}
		defer file.Close()
		if info, err := file.Stat(); err == nil && info.IsDir() {
			return nil, exit.Wrong(fmt.Errorf("%s is a folder; name one log in it", path))
		}
		in, name = file, filepath.Base(path)
	}
	t, err := trace.Read(ctx, in, name, o)
	var bad *trace.Error
	if errors.As(err, &bad) {
		return nil, exit.Wrong(err)
	}
	return t, err
}

// choicesText asks what only a person can settle.
func choicesText(t *trace.Trace) string {
	var b strings.Builder
	for _, c := range t.Choices {
		fmt.Fprintf(&b, "%s The log does not count until you choose.\n", c.What)
		for i, w := range c.Ways {
			as := ""
			if i == 0 {
				as = ", shown below"
			}
			fmt.Fprintf(&b, "  --clock '%s'   %s%s\n", w.Map["time"], w.Says, as)
		}
	}
	return b.String()
}

// traceText is the answer for people.
func traceText(t *trace.Trace, u quantity.Units, picture string) string {
	var b strings.Builder
	b.WriteString(choicesText(t))
	drives := events.InDrives(t)
	for i, e := range drives {
		if len(drives) > 1 {
			fmt.Fprintf(&b, "drive %d of %d: ", i+1, len(drives))
		}
		fmt.Fprintf(&b, "%s\n", e.Summary(u))
		if e.Verdict == events.Opened || e.Verdict == events.StartedHot {
			fmt.Fprintf(&b, "  because %s\n", e.WhyIn(u))
		}
	}
	fmt.Fprintf(&b, "\n%s", picture)
	fmt.Fprintf(&b, "\nread %d rows", t.Rows)
	if t.Dropped > 0 {
		fmt.Fprintf(&b, ", left out %d", t.Dropped)
	}
	b.WriteString("; columns:\n")
	columns := append([]trace.Column(nil), t.Columns...)
	sort.SliceStable(columns, func(i, j int) bool { return columns[i].Used && !columns[j].Used })
	var unused []string
	for _, c := range columns {
		if !c.Used {
			if c.Name != "" {
				unused = append(unused, c.Name)
			}
			continue
		}
		name := c.Name
		if name == "" {
			name = "(no name)"
		}
		fmt.Fprintf(&b, "  %-18s #%d %s, in %s, %s\n", c.Signal, c.Number, name, c.Unit, c.How)
	}
	if len(unused) > 0 {
		fmt.Fprintf(&b, "  not used: %s\n", strings.Join(unused, "; "))
	}
	if len(t.Assumed) > 0 {
		b.WriteString("assumed (please check those marked ?):\n")
	}
	for _, a := range t.Assumed {
		flag := " "
		if a.Doubt {
			flag = "?"
		}
		where := ""
		if a.Where != "" {
			where = a.Where + ": "
		}
		fmt.Fprintf(&b, "%s %s%s, because %s\n", flag, where, a.What, a.Why)
	}
	return b.String()
}
