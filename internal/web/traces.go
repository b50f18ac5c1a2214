package web

import (
	"html/template"
	"net/http"

	"weephole/internal/chart"
	"weephole/internal/chart/traceplot"
	"weephole/internal/store"
	"weephole/internal/work"
	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

// traceView is a log as the job's page draws it.
type traceView struct {
	Name    string
	SVG     template.HTML
	Summary string
	Problem string
	Assumed []trace.Assumption
}

// traces draws a job's logs.
func (pg *pages) traces(r *http.Request, id string, files []store.File, u quantity.Units, bands []work.LogBand) []traceView {
	var out []traceView
	for _, f := range files {
		if !isLog(&f) {
			continue
		}
		out = append(out, pg.trace(r, id, f, u, bands))
	}
	return out
}

func (pg *pages) trace(r *http.Request, id string, f store.File, u quantity.Units, bands []work.LogBand) traceView {
	v := traceView{Name: f.Name}
	tr, err := pg.brought(r.Context(), id, f.Name)
	if err == nil {
		var behind []chart.Band
		for i := range bands {
			if bands[i].Trace == f.Name {
				behind = append(behind, chart.Band{Name: "still fits", X: bands[i].Minutes, Low: bands[i].LowC, High: bands[i].HighC})
			}
		}
		plot := traceplot.Plot(tr, u, behind...)
		plot.Width, plot.Height = 480, 300 // what a phone shows without making it small
		v.SVG = template.HTML(plot.SVG())  // our own drawing, its texts escaped there
		v.Summary = events.InLog(tr).Summary(u)
		for _, a := range tr.Assumed {
			if a.Doubt {
				v.Assumed = append(v.Assumed, a)
			}
		}
		return v
	}
	v.Problem = err.Error()
	return v
}
