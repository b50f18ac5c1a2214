package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"weephole/internal/chart"
	"weephole/internal/chart/traceplot"
	"weephole/internal/store"
	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

// logPage is one log, large: a stretch of it, read off, or laid over another one.
type logPage struct {
	Strip          *strip
	ID, Name, With string
	Chart, Narrow  template.HTML
	Summary        string
	Misfit         string
	Doubts         []string
	Others         []string // other logs of the job
	Stretches      []stretch
	Points         string // minutes and readings, for reading off
	From, To, Unit string
}

// stretch is a way to another stretch of the log.
type stretch struct{ Name, Href string }

// PageTitle is the title of a log's page.
func (p *logPage) PageTitle() string { return "Log " + p.Name }

func (pg *jobPages) logPage(r *http.Request) (any, error) {
	s, err := pg.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	files, err := pg.store.Files(r.Context(), s.ID)
	if err != nil {
		return nil, err
	}
	p := &logPage{ID: s.ID, Name: r.PathValue("name"), With: r.FormValue("with"), Unit: s.units().TemperatureIn}
	if p.Strip, err = pg.stripOf(r, s, ""); err != nil {
		return nil, err
	}
	there := map[string]bool{}
	for i := range files {
		if isLog(&files[i]) {
			there[files[i].Name] = true
			if files[i].Name != p.Name {
				p.Others = append(p.Others, files[i].Name)
			}
		}
	}
	if !there[p.Name] || p.With != "" && !there[p.With] {
		return nil, store.ErrUnknown
	}
	tr, err := pg.brought(r.Context(), s.ID, p.Name, s.mapOf(p.Name))
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "%s cannot be read: %v", p.Name, err)
	}
	p.Summary = events.InLog(tr).Summary(s.units())
	for _, a := range tr.Assumed {
		if a.Doubt {
			p.Doubts = append(p.Doubts, upperFirst(a.What)+": "+a.Why+".")
		}
	}
	plot, err := pg.logPlot(r, s, p, tr)
	if err != nil {
		return nil, err
	}
	p.cut(r, &plot, tr)
	plot.Width, plot.Height, plot.Lettering = deskWide+300, 2*deskHigh, deskText
	p.Chart = template.HTML(plot.SVG()) // our own drawing, its texts escaped there
	plot.Width, plot.Height, plot.Lettering = narrowWide, narrowHigh+80, narrowText
	p.Narrow = template.HTML(plot.SVG())
	p.Points = pointsOf(tr, s.units())
	return p, nil
}

// logPlot is the log with its band, or with the other log that it is laid over.
func (pg *jobPages) logPlot(r *http.Request, s *currentJob, p *logPage, tr *trace.Trace) (chart.Plot, error) {
	if p.With != "" {
		other, err := pg.brought(r.Context(), s.ID, p.With, s.mapOf(p.With))
		if err != nil {
			return chart.Plot{}, wrong(http.StatusUnprocessableEntity, "%s cannot be read: %v", p.With, err)
		}
		pair := traceplot.Pair(other, tr, s.units())
		pair.Title, pair.Lines[0].Name, pair.Lines[1].Name = "Coolant in two logs", "other log", "this log"
		return pair, nil
	}
	a, err := pg.answer(r.Context(), s.ID)
	if err != nil {
		return chart.Plot{}, err
	}
	behind, misfits := pg.bandsOf(s, a, p.Name, tr)
	p.Misfit = misfits
	return traceplot.Plot(tr, s.units(), behind...), nil
}

// closest is how much a stretch is cut down by one look closer.
const closest = 3.0

// cut shows the stretch that was asked for, and offers others.
func (p *logPage) cut(r *http.Request, plot *chart.Plot, tr *trace.Trace) {
	whole := tr.Time[len(tr.Time)-1] / 60
	minute := func(key string, usual float64) float64 {
		v, err := strconv.ParseFloat(r.FormValue(key), 64)
		if err != nil || math.IsNaN(v) {
			return usual
		}
		return max(0, min(whole, v))
	}
	from, to := minute("from", 0), minute("to", whole)
	if to <= from {
		from, to = 0, whole
	}
	p.From, p.To = fmt.Sprintf("%.1f", from), fmt.Sprintf("%.1f", to)
	if from > 0 || to < whole {
		plot.X.Min, plot.X.Max = from, to
	}
	link := func(name string, a, b float64) {
		a, b = max(0, a), min(whole, b)
		if b-a < 0.2 {
			return
		}
		q := url.Values{"from": {fmt.Sprintf("%.2f", a)}, "to": {fmt.Sprintf("%.2f", b)}}
		if p.With != "" {
			q.Set("with", p.With)
		}
		p.Stretches = append(p.Stretches, stretch{name, "?" + q.Encode()})
	}
	wide := to - from
	third := wide / closest
	link("Earlier", from-wide/2, to-wide/2)
	link("Later", from+wide/2, to+wide/2)
	link("Beginning, closer", from, from+third)
	link("Middle, closer", from+third, to-third)
	link("End, closer", to-third, to)
	if from > 0 || to < whole {
		link("The whole log", 0, whole)
	}
}

// mostPoints is how many readings a page carries for reading off: judgement, more than
// a finger can tell apart.
const mostPoints = 400

func pointsOf(tr *trace.Trace, u quantity.Units) string {
	var b strings.Builder
	cool := tr.Signals[trace.Coolant]
	step := max(1, len(cool)/mostPoints)
	for i := 0; i < len(cool) && i < len(tr.Time); i += step {
		if !math.IsNaN(cool[i]) {
			fmt.Fprintf(&b, "%.2f,%s;", tr.Time[i]/60, u.Temperature(quantity.Temperature(cool[i])))
		}
	}
	return strings.TrimSuffix(b.String(), ";")
}
