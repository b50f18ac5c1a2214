package events

import (
	"encoding/json"
	"math"
	"strconv"

	"weephole/quantity"
	"weephole/trace"
)

// Num is a number in JSON: null where it is unknown, six significant digits.
type Num float64

// MarshalJSON writes null for NaN and infinities, which JSON has no words for.
func (n Num) MarshalJSON() ([]byte, error) {
	if v := float64(n); !math.IsNaN(v) && !math.IsInf(v, 0) {
		return strconv.AppendFloat(nil, v, 'g', 6, 64), nil
	}
	return []byte("null"), nil
}

// Report is everything that is known of a log, for JSON; docs/traces.md
// documents the fields. Times are s on the trace's clock, temperatures degC,
// differences K, whatever the shop's units.
type Report struct {
	Name    string                  `json:"name"`
	Began   string                  `json:"began,omitempty"` // RFC 3339
	Rows    int                     `json:"rows"`
	Dropped int                     `json:"dropped"`
	Step    Num                     `json:"step_s"`
	Columns []ReportColumn          `json:"columns"`
	Assumed []ReportAssumption      `json:"assumed"`
	Choices []ReportChoice          `json:"choices,omitempty"`
	Drives  []ReportDrive           `json:"drives"`
	Time    []Num                   `json:"time_s"`
	Signals map[string]ReportSignal `json:"signals"`
}

// ReportColumn is a Column in JSON.
type ReportColumn struct {
	Number int    `json:"number"`
	Name   string `json:"name"`
	Signal string `json:"signal,omitempty"`
	Unit   string `json:"unit,omitempty"`
	How    string `json:"how"`
}

// ReportAssumption is an Assumption in JSON.
type ReportAssumption struct {
	What  string `json:"what"`
	Where string `json:"where,omitempty"`
	Why   string `json:"why"`
	Doubt bool   `json:"doubt"`
}

// ReportChoice is a question that only a person can settle.
type ReportChoice struct {
	What string      `json:"what"`
	Ways []ReportWay `json:"ways"`
}

// ReportWay is one answer to it.
type ReportWay struct {
	Says string            `json:"says"`
	Map  map[string]string `json:"map"`
}

// ReportSignal is one signal's values.
type ReportSignal struct {
	Unit   string `json:"unit"`
	Values []Num  `json:"values"`
}

// ReportDrive is one drive with its events in JSON.
type ReportDrive struct {
	From     Num            `json:"from_s"`
	To       Num            `json:"to_s"`
	GapKnown bool           `json:"gap_known"`
	Verdict  Verdict        `json:"verdict"`
	Why      string         `json:"why"`
	Summary  string         `json:"summary"`
	Ambient  reportEstimate `json:"ambient_c"`
	Max      Num            `json:"max_c"`
	MaxAt    Num            `json:"max_at_s"`
	End      Num            `json:"end_c"`
	Start    *reportStart   `json:"start,omitempty"`
	WarmUp   *reportWarmUp  `json:"warm_up,omitempty"`
	Opening  *reportOpening `json:"opening,omitempty"`
	Plateau  *reportPlateau `json:"plateau,omitempty"`
	Fan      *reportFan     `json:"fan,omitempty"`
	Climbs   []reportClimb  `json:"climbs,omitempty"`
	Boiling  *reportBoiling `json:"boiling,omitempty"`
	Jumps    []reportJump   `json:"jumps,omitempty"`
	Pauses   []reportSpan   `json:"pauses,omitempty"`
	Soaks    []reportSoak   `json:"soaks,omitempty"`
	Heat     *reportHeat    `json:"heat,omitempty"`
	Kind     string         `json:"kind"` // from-cold, idle, drive, cool-down or none

	Numbers map[string]reportEstimate `json:"numbers"` // by Kind, without those that the drive does not show
}

type reportEstimate struct {
	Value Num `json:"value"`
	Sigma Num `json:"sigma"`
}

type reportSpan struct {
	From Num `json:"from_s"`
	To   Num `json:"to_s"`
}

type reportStart struct {
	At      reportEstimate `json:"at_s"`
	C       Num            `json:"coolant_c"`
	Running bool           `json:"running_at_first_row"`
	Hot     bool           `json:"hot"`
}

type reportWarmUp struct {
	reportSpan
	FromC Num            `json:"from_c"`
	ToC   Num            `json:"to_c"`
	Rate  reportEstimate `json:"rate_k_per_min"`
}

type reportOpening struct {
	At        reportEstimate `json:"at_s"`
	After     reportEstimate `json:"after_s"`
	C         reportEstimate `json:"coolant_c"`
	Peak      Num            `json:"peak_c"`
	PeakAt    Num            `json:"peak_at_s"`
	Fall      Num            `json:"fall_k"`
	Overshoot Num            `json:"overshoot_k"`
}

type reportPlateau struct {
	reportSpan
	C      reportEstimate `json:"median_c"`
	Spread Num            `json:"spread_k"`
	Low    Num            `json:"low_c"`
	Top    Num            `json:"top_c"`
}

type reportFan struct {
	Logged bool             `json:"logged"`
	Never  bool             `json:"never"`
	On     reportEstimate   `json:"on_c"`
	Off    reportEstimate   `json:"off_c"`
	Period reportEstimate   `json:"period_s"`
	Cycles []reportFanCycle `json:"cycles"`
}

type reportFanCycle struct {
	reportSpan
	On  Num `json:"on_c"`
	Off Num `json:"off_c"`
}

type reportClimb struct {
	reportSpan
	FromC    Num  `json:"from_c"`
	ToC      Num  `json:"to_c"`
	Speed    Num  `json:"speed_m_per_s"`
	Standing bool `json:"standing"`
}

type reportBoiling struct {
	reportSpan
	C reportEstimate `json:"coolant_c"`
}

type reportJump struct {
	At      Num `json:"at_s"`
	FromC   Num `json:"from_c"`
	ToC     Num `json:"to_c"`
	Seconds Num `json:"seconds"`
}

type reportSoak struct {
	reportSpan
	FromC  Num            `json:"from_c"`
	PeakC  Num            `json:"peak_c"`
	EndC   Num            `json:"end_c"`
	SafeIn reportEstimate `json:"safe_in_s"`
}

type reportHeat struct {
	Given  reportEstimate `json:"given_j"`
	Needed reportEstimate `json:"needed_j"`
	From   string         `json:"from"`
}

var _ json.Marshaler = Num(0)

func num(e Estimate) reportEstimate { return reportEstimate{Num(e.Value), Num(e.Sigma)} }
func span(s Span) reportSpan        { return reportSpan{Num(s.From), Num(s.To)} }

// ReportOf gathers everything for JSON; u is for the sentences alone.
func ReportOf(t *trace.Trace, u quantity.Units) Report {
	r := Report{Name: t.Name, Rows: t.Rows, Dropped: t.Dropped, Step: Num(t.Step), Signals: map[string]ReportSignal{}, Assumed: []ReportAssumption{}}
	if !t.Began.IsZero() {
		r.Began = t.Began.Format("2006-01-02T15:04:05Z07:00")
	}
	for _, c := range t.Columns {
		rc := ReportColumn{Number: c.Number, Name: c.Name, Unit: c.Unit, How: c.How}
		if c.Used {
			rc.Signal = c.Signal.String()
		}
		r.Columns = append(r.Columns, rc)
	}
	for _, a := range t.Assumed {
		r.Assumed = append(r.Assumed, ReportAssumption(a))
	}
	for _, c := range t.Choices {
		rc := ReportChoice{What: c.What}
		for _, w := range c.Ways {
			rc.Ways = append(rc.Ways, ReportWay(w))
		}
		r.Choices = append(r.Choices, rc)
	}
	for _, s := range t.Time {
		r.Time = append(r.Time, Num(s))
	}
	for s, x := range t.Signals {
		series := ReportSignal{Unit: s.Unit()}
		for _, v := range x {
			series.Values = append(series.Values, Num(v))
		}
		r.Signals[s.String()] = series
	}
	for i, e := range InDrives(t) {
		d := t.Drives[i]
		rd := e.report(u, t.Time[d.From], t.Time[d.To-1], d.GapKnown)
		rd.count(SeriesOf(t, d))
		r.Drives = append(r.Drives, rd)
	}
	return r
}

// count adds what the drive is and its numbers.
func (d *ReportDrive) count(s Series) {
	d.Kind, d.Numbers = RegimesOf(s).Main(), map[string]reportEstimate{}
	for k, e := range Of(s) {
		if !math.IsNaN(e.Value) {
			d.Numbers[Kind(k).String()] = num(e)
		}
	}
}

func (e Events) report(u quantity.Units, from, to float64, known bool) ReportDrive {
	d := ReportDrive{From: Num(from), To: Num(to), GapKnown: known, Verdict: e.Verdict, Why: e.WhyIn(u), Summary: e.Summary(u),
		Ambient: num(e.Ambient), Max: Num(e.MaxC.Value), MaxAt: Num(e.MaxAt), End: Num(e.EndC)}
	if e.Verdict == NoCoolant {
		return d
	}
	if s := e.Start; s != nil {
		d.Start = &reportStart{num(s.At), Num(s.C), s.Running, s.Hot}
	}
	if w := e.WarmUp; w != nil {
		d.WarmUp = &reportWarmUp{span(w.Span), Num(w.FromC), Num(w.ToC), reportEstimate{Num(w.Rate.Value * 60), Num(w.Rate.Sigma * 60)}}
	}
	if o := e.Opening; o != nil {
		d.Opening = &reportOpening{num(o.At), num(o.After), num(o.C), Num(o.PeakC), Num(o.PeakAt), Num(o.FallC), Num(o.Overshoot)}
	}
	if p := e.Plateau; p != nil {
		d.Plateau = &reportPlateau{span(p.Span), num(p.C), Num(p.Spread), Num(p.LowC), Num(p.TopC)}
	}
	if f := e.Fan; f != nil {
		d.Fan = &reportFan{Logged: f.Logged, Never: f.Never, On: num(f.OnC), Off: num(f.OffC), Period: num(f.Period), Cycles: []reportFanCycle{}}
		for _, c := range f.Cycles {
			d.Fan.Cycles = append(d.Fan.Cycles, reportFanCycle{span(c.Span), Num(c.OnC), Num(c.OffC)})
		}
	}
	for _, c := range e.Climbs {
		d.Climbs = append(d.Climbs, reportClimb{span(c.Span), Num(c.FromC), Num(c.ToC), Num(c.SpeedMS), c.Standing})
	}
	if b := e.Boiling; b != nil {
		d.Boiling = &reportBoiling{span(b.Span), num(b.C)}
	}
	for _, j := range e.Jumps {
		d.Jumps = append(d.Jumps, reportJump{Num(j.At), Num(j.FromC), Num(j.ToC), Num(j.Seconds)})
	}
	for _, p := range e.Pauses {
		d.Pauses = append(d.Pauses, span(p))
	}
	for _, s := range e.Soaks {
		d.Soaks = append(d.Soaks, reportSoak{span(s.Span), Num(s.FromC), Num(s.PeakC), Num(s.EndC), num(s.SafeIn)})
	}
	d.Heat = &reportHeat{num(e.Heat.Given), num(e.Heat.Needed), e.Heat.From}
	return d
}
