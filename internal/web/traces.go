package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"

	"weephole/internal/chart"
	"weephole/internal/chart/traceplot"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/trace"
	"weephole/trace/events"
)

// traceView is a log as the job's page draws it.
type traceView struct {
	Name    string
	SVG     template.HTML // for a phone
	Wide    template.HTML // for a desk
	Summary string
	Problem string
	Misfit  string // that no engine fits it, if that is so
	Href    string // of its own page
	Assumed []trace.Assumption
}

// traces draws a job's logs.
func (pg *jobPages) traces(r *http.Request, s *currentJob, files []store.File, a *answers.Answer) []traceView {
	var out []traceView
	for i := range files {
		if isLog(&files[i]) {
			out = append(out, pg.trace(r, s, files[i].Name, a))
		}
	}
	return out
}

// Sizes of a log's chart and of its lettering, in CSS pixels of a phone and of a desk.
const (
	narrowWide, narrowHigh, narrowText = 358, 260, 13
	deskWide, deskHigh, deskText       = 860, 280, 14
)

func (pg *jobPages) trace(r *http.Request, s *currentJob, name string, a *answers.Answer) traceView {
	v := traceView{Name: name, Href: "/jobs/" + s.ID + "/logs/" + url.PathEscape(name)}
	tr, err := pg.brought(r.Context(), s.ID, name, s.mapOf(name))
	if err != nil {
		v.Problem = problemInWords(err)
		return v
	}
	behind, misfits := pg.bandsOf(s, a, name, tr)
	v.Misfit = misfits
	plot := traceplot.Plot(tr, s.units(), behind...)
	plot.Width, plot.Height, plot.Lettering = narrowWide, narrowHigh, narrowText
	v.SVG = template.HTML(plot.SVG()) // our own drawing, its texts escaped there
	plot.Width, plot.Height, plot.Lettering = deskWide, deskHigh, deskText
	v.Wide = template.HTML(plot.SVG())
	v.Summary = events.InLog(tr).Summary(s.units())
	for _, a := range tr.Assumed {
		if a.Doubt {
			v.Assumed = append(v.Assumed, a)
		}
	}
	return v
}

// bandsOf are the bands of the engines that still fit a log, and a sentence where none
// of them does. A log of the car as it was before its repair is not set beside the
// engines that fit it since.
func (pg *jobPages) bandsOf(s *currentJob, a *answers.Answer, name string, tr *trace.Trace) (bands []chart.Band, misfits string) {
	if a == nil || s.beforeRepair(name) {
		return nil, ""
	}
	for i := range a.Bands {
		if b := &a.Bands[i]; b.Trace == name {
			bands = append(bands, chart.Band{Name: "still fits", X: b.Minutes, Low: b.LowC, High: b.HighC})
			misfits = misfit(tr, b)
		}
	}
	if a.Odds != nil {
		for _, log := range a.Odds.Strange {
			if log.Trace == name {
				misfits = log.Says
			}
		}
	}
	return bands, misfits
}

// beforeRepair tells of a log that was brought before a repair that changed something.
func (s *currentJob) beforeRepair(name string) bool {
	logged := false
	for i, f := range s.Said {
		switch {
		case f == nil || s.Findings[i].Struck:
		case f.Trace == name:
			logged = true
		case f.Repair != "" && !failed(f.Changed) && logged:
			return true
		}
	}
	return false
}

// mapOf is how the finding of a log says its columns are to be read.
func (s *currentJob) mapOf(name string) map[string]string {
	for i, f := range s.Said {
		if f != nil && !s.Findings[i].Struck && f.Trace == name {
			return f.Map
		}
	}
	return nil
}

// What part of a log must lie outside the band of the engines that still fit, and by
// how much, for the page to say that none of them fits it: judgement. The band holds
// eight of ten of them, and a reading is good to about two degrees.
const (
	mostOutside = 0.5
	outsideBy   = 2.0 // K
)

// misfit says that no engine fits a log; "" where some do.
func misfit(tr *trace.Trace, b *work.LogBand) string {
	cool := tr.Signals[trace.Coolant]
	out, all, i := 0, 0, 0
	for k, minute := range b.Minutes {
		for i+1 < len(tr.Time) && tr.Time[i+1]/60 <= minute {
			i++
		}
		if i >= len(cool) || math.IsNaN(cool[i]) || math.IsNaN(b.LowC[k]) {
			continue
		}
		all++
		if cool[i] < b.LowC[k]-outsideBy || cool[i] > b.HighC[k]+outsideBy {
			out++
		}
	}
	if all == 0 || float64(out) < mostOutside*float64(all) {
		return ""
	}
	return fmt.Sprintf("Nothing that is simulated fits this log: %.0f %% of it lies outside the band of the engines that come nearest. Is it of this car, and read in the right units?", 100*float64(out)/float64(all))
}
