package trace_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/trace"
	"weephole/trace/events"
)

// The made-up warm-up in testdata/layouts (see testdata/README.md).
const (
	curveStart = 20.0 // degC
	curvePeak  = 94.0
	curveEnd   = 90.0
	curveLasts = 780.0      // s
	curveSpeed = 72.0 / 3.6 // m/s, the fastest
)

func readFile(t *testing.T, path string, o trace.ReadOptions) (*trace.Trace, error) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	return trace.Read(context.Background(), f, filepath.Base(path), o)
}

func TestEveryLayoutGivesTheSameWarmUp(t *testing.T) {
	type want struct {
		options  trace.ReadOptions
		assumed  []string // parts of sentences that must be said
		speed    bool     // road speed must be right
		lasts    float64  // s, if not the curve's
		slack    float64  // K, if more than whole degrees and means need
		noEngine bool
	}
	special := map[string]want{
		"comma.csv":                        {speed: true},
		"semicolon-decimal-comma.csv":      {speed: true},
		"tab.txt":                          {speed: true},
		"bar.txt":                          {speed: true},
		"blanks.txt":                       {speed: true},
		"unquoted-decimal-comma.csv":       {speed: true, assumed: []string{"joined at a decimal comma"}, noEngine: true},
		"utf16-with-mark.txt":              {assumed: []string{"UTF-16"}},
		"utf16-big-endian.txt":             {assumed: []string{"UTF-16"}},
		"utf16-without-mark.txt":           {assumed: []string{"UTF-16 without"}},
		"byte-order-mark.csv":              {assumed: []string{"byte order mark"}},
		"latin1.csv":                       {speed: true},
		"units-in-second-row.csv":          {speed: true},
		"units-in-values.csv":              {speed: true},
		"units-missing.csv":                {speed: true, assumed: []string{"coolant is taken in °C", "road-speed is taken in km/h", "manifold-pressure is taken in kPa", "time is taken as seconds"}},
		"units-missing-fahrenheit.csv":     {assumed: []string{"coolant is taken in °F", "manifold-pressure is taken in inHg"}},
		"header-missing.csv":               {assumed: []string{"taken as coolant", "taken as engine-speed"}},
		"free-text-before-header.csv":      {speed: true},
		"one-reading-per-row.csv":          {speed: true, lasts: 782, assumed: []string{"each row is one reading"}},
		"one-reading-per-row-grouped.csv":  {assumed: []string{"each row is one reading"}},
		"clock-over-midnight.csv":          {assumed: []string{"passes midnight"}},
		"unix-seconds.csv":                 {assumed: []string{"seconds since 1970"}},
		"unix-milliseconds.csv":            {assumed: []string{"milliseconds since 1970"}},
		"elapsed-milliseconds.csv":         {assumed: []string{"taken as milliseconds"}},
		"spreadsheet-lost-the-hours.csv":   {assumed: []string{"hours are missing"}},
		"spreadsheet-lost-the-seconds.csv": {lasts: 780, assumed: []string{"spread evenly"}},
		"spreadsheet-day-fractions.csv":    {assumed: []string{"fractions of a day"}},
		"spreadsheet-day-count.csv":        {assumed: []string{"count of days"}},
		"no-time-but-run-time.csv":         {assumed: []string{"run time serves as the clock"}},
		"no-time.csv":                      {options: trace.ReadOptions{Rate: 0.2}, assumed: []string{"rows are 5 s apart"}},
		"bare-column.txt":                  {options: trace.ReadOptions{Rate: 0.2}, assumed: []string{"taken as coolant"}, noEngine: true},
		"speed-in-mph-labelled-kmh.csv":    {speed: true, assumed: []string{"taken in mph, not in km/h"}},
		"speed-in-mph-beside-gps.csv":      {speed: true, assumed: []string{"taken in mph, not in km/h"}},
		"speed-in-mph-against-distance.csv": {speed: true, noEngine: true,
			assumed: []string{"taken in mph, not in km/h"}},
		"fahrenheit-labelled-celsius.csv": {assumed: []string{"taken in °F, though the log says °C"}},
		"time-steps-back.csv":             {assumed: []string{"row(s) are left out"}},
		"two-drives.csv":                  {lasts: 780 + 600 + 300, assumed: []string{"the log holds 2 drives", "header returns"}},
		"last-line-cut.csv":               {assumed: []string{"last line is left out"}},
		"short-rows.csv":                  {speed: true, assumed: []string{"shorter than the others"}},
		"one-signal-fresh-per-row.csv":    {speed: true, lasts: 779, slack: 1, assumed: []string{"one signal is fresh in each row"}},
		"gzip-cut-off.csv.gz":             {assumed: []string{"breaks off"}, lasts: -1},
		"names-that-say-nothing.csv":      {speed: true, assumed: []string{"taken as coolant"}},
		"sensor-drops-out.csv":            {},
		"two-clocks-and-two-speeds.csv":   {speed: true},
		"minutes-and-seconds.csv":         {assumed: []string{"minutes and seconds"}},
		"camel-case.csv":                  {speed: true},
		"japanese.csv":                    {speed: true},
		"one-reading-per-row-quoted.csv":  {speed: true},
		"german-units-in-values.csv":      {speed: true},
		"spanish.csv":                     {speed: true}, "russian.csv": {speed: true}, "polish.csv": {speed: true}, "italian.csv": {speed: true}, "dutch.csv": {speed: true},
	}
	files, _ := filepath.Glob("testdata/layouts/*")
	if len(files) < 60 {
		t.Fatalf("only %d logs in testdata/layouts", len(files))
	}
	for _, path := range files {
		name := filepath.Base(path)
		w := special[name]
		t.Run(name, func(t *testing.T) {
			tr, err := readFile(t, path, w.options)
			if err != nil {
				t.Fatal(err)
			}
			told := ""
			for _, a := range tr.Assumed {
				told += a.Where + ": " + a.What + ", because " + a.Why + "\n"
			}
			c := tr.Signals[trace.Coolant]
			slack := 0.6 + w.slack // whole degrees, or whole °F
			near := func(what string, got, want, by float64) {
				t.Helper()
				if !(math.Abs(got-want) <= by) {
					t.Errorf("%s is %.2f, want %.2f give or take %.2f; assumed:\n%s%+v", what, got, want, by, told, tr.Columns)
				}
			}
			near("the start", c[0], curveStart, slack)
			if w.lasts >= 0 { // the cut-off one has lost its end
				top := math.Inf(-1)
				end := math.NaN()
				for _, x := range c {
					if !math.IsNaN(x) {
						top, end = math.Max(top, x), x
					}
				}
				near("the peak", top, curvePeak, slack)
				near("the end", end, curveEnd, slack)
				lasts := w.lasts
				if lasts == 0 {
					lasts = curveLasts
				}
				near("the length", tr.Time[len(tr.Time)-1], lasts, 5)
			}
			for i := 1; i < len(tr.Time); i++ {
				if tr.Time[i] <= tr.Time[i-1] {
					t.Fatalf("time does not run on at row %d", i)
				}
			}
			if n := tr.Signals[trace.EngineSpeed]; !w.noEngine && (n == nil || !near800(n)) {
				t.Errorf("engine speed is wrong at the start: %v", n)
			}
			if w.speed {
				top := math.Inf(-1)
				for _, x := range tr.Signals[trace.RoadSpeed] {
					if x > top {
						top = x
					}
				}
				near("the fastest", top, curveSpeed, 0.3)
			}
			for _, part := range w.assumed {
				if !strings.Contains(told, part) {
					t.Errorf("not said: %q; said was:\n%s", part, told)
				}
			}
			if e := events.InLog(tr); w.lasts >= 0 && e.Verdict != events.Opened {
				t.Errorf("verdict %s, want %s: %s", e.Verdict, events.Opened, e.Why)
			}
		})
	}
}

// near800 tells whether the first known engine speed is the curve's idle.
func near800(n []float64) bool {
	for _, x := range n {
		if !math.IsNaN(x) {
			return math.Abs(x-800.0/60) < 0.2
		}
	}
	return false
}

func TestWhatIsNoLogIsRefusedWithTheReason(t *testing.T) {
	reasons := map[string]string{
		"empty.csv":              "the file is empty",
		"prose.txt":              "no rows of numbers",
		"page.html":              "web page",
		"notation.json":          "JSON",
		"archive.csv":            "zip archive",
		"header-only.csv":        "not one row after it",
		"no-coolant.csv":         `Name the right one "coolant" in the file`,
		"noise.csv":              "no coolant does that",
		"kelvin-times-ten.csv":   "outside -40 to 215",
		"no-time-no-rate.csv":    `Name the column of the time "time" in the file`,
		"times-rounded-away.csv": "a spreadsheet has rounded the times away",
		"two-readings.csv":       "at least 5",
	}
	files, _ := filepath.Glob("testdata/refused/*")
	if len(files) != len(reasons) {
		t.Errorf("%d files and %d reasons", len(files), len(reasons))
	}
	for name, part := range reasons {
		t.Run(name, func(t *testing.T) {
			tr, err := readFile(t, "testdata/refused/"+name, trace.ReadOptions{})
			if err == nil {
				t.Fatalf("it was read: %+v", tr.Columns)
			}
			var e *trace.Error
			if !errors.As(err, &e) || e.File != name {
				t.Errorf("%v is no *trace.Error about %s", err, name)
			}
			if !strings.Contains(err.Error(), part) {
				t.Errorf("said %q, which does not say %q", err, part)
			}
			if strings.Contains(err.Error(), "--") {
				t.Errorf("said %q to somebody who has no flags", err)
			}
			t.Log(err)
		})
	}
}

func TestTheRefusalNamesTheFlagThatHelpsWhereFlagsAreAtHand(t *testing.T) {
	for name, flag := range map[string]string{"no-coolant.csv": "--map 'coolant=NAME'", "no-time-no-rate.csv": "--rate", "kelvin-times-ten.csv": "--map 'coolant="} {
		if _, err := readFile(t, "testdata/refused/"+name, trace.ReadOptions{Flags: true}); err == nil || !strings.Contains(err.Error(), flag) {
			t.Errorf("%s: %v, want one with %s", name, err, flag)
		}
	}
}

func TestAMappingOverrulesWhatWasFound(t *testing.T) {
	tests := []struct {
		name, file string
		m          map[string]string
		want       float64 // degC at the start
		err        string
	}{
		{"a column by name", "target-temperature-beside.csv", map[string]string{"coolant": "Oil temp"}, 20, ""},
		{"a column by number", "target-temperature-beside.csv", map[string]string{"coolant": "#2"}, 95, ""},
		{"a unit", "comma.csv", map[string]string{"coolant": "Coolant Temp@F"}, (20 - 32) / 1.8, ""},
		{"no such column", "comma.csv", map[string]string{"coolant": "Coolent Temp"}, 0, `did you mean "Coolant Temp"?`},
		{"no such signal", "comma.csv", map[string]string{"collant": "MAP"}, 0, `did you mean "coolant"?`},
		{"no such unit", "comma.csv", map[string]string{"coolant": "MAP@furlong"}, 0, "no unit that is read"},
		{"a unit of something else", "comma.csv", map[string]string{"coolant": "MAP@km/h"}, 0, "is not measured in km/h"},
		{"no such time", "comma.csv", map[string]string{"time": "Stamp"}, 0, "no such column"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			tr, err := readFile(t, "testdata/layouts/"+test.file, trace.ReadOptions{Map: test.m})
			if test.err != "" {
				if err == nil || !strings.Contains(err.Error(), test.err) {
					t.Fatalf("error %v, want one with %q", err, test.err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := tr.Signals[trace.Coolant][0]; math.Abs(got-test.want) > 0.6 {
				t.Errorf("starts at %.1f, want %.1f", got, test.want)
			}
		})
	}
}

// breaking fails after some bytes, as a pulled stick does.
type breaking struct {
	text string
	at   int
}

var errPulled = errors.New("the stick was pulled")

func (b *breaking) Read(p []byte) (int, error) {
	if b.at >= len(b.text) {
		return 0, errPulled
	}
	n := copy(p, b.text[b.at:])
	b.at += n
	return n, nil
}

func TestAReaderThatFailsIsNotTheLogsFault(t *testing.T) {
	var log strings.Builder
	for i := range 60000 {
		fmt.Fprintf(&log, "%d,80\n", i)
	}
	var bad *trace.Error
	_, err := trace.Read(context.Background(), &breaking{text: log.String()}, "stick", trace.ReadOptions{})
	if !errors.Is(err, errPulled) || errors.As(err, &bad) {
		t.Errorf("got %v, want the reader's own error", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := trace.Read(ctx, strings.NewReader("Time (s),ECT\n"+strings.Repeat("1,80\n", 20000)), "late", trace.ReadOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}
