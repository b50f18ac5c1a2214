package answer

import (
	"math"

	"weephole/internal/chart"
	"weephole/internal/work"
	"weephole/quantity"
	"weephole/trace"
)

// Picture draws before and after the repair against the band of engines with
// nothing wrong. before is a log from before the repair, or nil; bands are the
// logs after it. Nil where nothing was logged.
func Picture(before *trace.Trace, bands []work.ProofBand, u quantity.Units) *chart.Plot {
	d := scale{u}
	unit := u.TemperatureIn
	if unit == "" {
		unit = "°C"
	}
	p := &chart.Plot{Title: "Coolant temperature during a run", X: chart.Axis{Label: "minutes"}, Y: chart.Axis{Label: "coolant, " + unit}}
	if before != nil {
		x, y := d.log(before)
		p.Lines = append(p.Lines, chart.Curve{Name: "before", X: x, Y: y, Dash: true})
		p.Desc = "The line \"before\" is your car as it came in. "
	}
	if len(bands) > 0 {
		b := bands[len(bands)-1]
		x := make([]float64, len(b.Time))
		for i, t := range b.Time {
			x[i] = t / 60
		}
		p.Bands = append(p.Bands, chart.Band{Name: "healthy", X: x, Low: d.temperatures(b.Low), High: d.temperatures(b.High)})
		p.Lines = append(p.Lines,
			chart.Curve{Name: "if not repaired", X: x, Y: d.temperatures(b.Still), Dash: true},
			chart.Curve{Name: "after", X: x, Y: d.temperatures(b.Coolant), Accent: true})
		p.Desc += "The strong line is your car after the repair. The shaded band is where 90 % of such engines with nothing wrong would run. The line \"if not repaired\" is where your car would have run with the fault still there."
	}
	if len(p.Lines) == 0 {
		return nil
	}
	return p
}

type scale struct{ units quantity.Units }

// mostPoints is what a chart of a page's width can show. Design choice.
const mostPoints = 240

func (d scale) log(t *trace.Trace) (x, y []float64) {
	c := t.Signals[trace.Coolant]
	every := max(1, len(t.Time)/mostPoints)
	for i := 0; i < len(t.Time) && i < len(c); i += every {
		x = append(x, t.Time[i]/60)
		y = append(y, d.temperature(c[i]))
	}
	return x, y
}

func (d scale) temperatures(c []float64) []float64 {
	out := make([]float64, len(c))
	for i, v := range c {
		out[i] = d.temperature(v)
	}
	return out
}

func (d scale) temperature(c float64) float64 {
	if d.units.TemperatureIn == "°F" && !math.IsNaN(c) {
		return quantity.Celsius(c).Fahrenheit()
	}
	return c
}
