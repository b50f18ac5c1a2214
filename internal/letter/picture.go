package letter

import (
	"math"

	"weephole/internal/chart"
	"weephole/quantity"
	"weephole/trace"
)

// chart draws before and after against the band of engines with nothing wrong.
// Nil where nothing was logged.
func (w *writer) chart() *chart.Plot {
	p := &chart.Plot{
		Title: "Coolant temperature during a run",
		X:     chart.Axis{Label: "minutes"}, Y: chart.Axis{Label: "coolant, " + w.Units.Temperature(0)[len(w.Units.Temperature(0))-len("°C"):]},
		Standalone: true,
	}
	if w.Before != nil {
		x, y := w.log(w.Before)
		p.Lines = append(p.Lines, chart.Line{Name: "before", X: x, Y: y, Dash: true})
		p.Desc = "The line \"before\" is your car as it came in. "
	}
	if w.Proof != nil && len(w.Proof.Bands) > 0 {
		b := w.Proof.Bands[len(w.Proof.Bands)-1]
		x := make([]float64, len(b.Time))
		for i, t := range b.Time {
			x[i] = t / 60
		}
		p.Bands = append(p.Bands, chart.Band{Name: "healthy", X: x, Low: w.temperatures(b.Low), High: w.temperatures(b.High)})
		p.Lines = append(p.Lines,
			chart.Line{Name: "if not repaired", X: x, Y: w.temperatures(b.Still), Dash: true},
			chart.Line{Name: "after", X: x, Y: w.temperatures(b.Coolant), Accent: true})
		p.Desc += "The strong line is your car after the repair; the shaded band is where nine of ten such engines with nothing wrong would run; the line \"if not repaired\" is where it would have run with the fault still there."
	}
	if len(p.Lines) == 0 {
		return nil
	}
	return p
}

// mostPoints is what a chart of a letter's width can show. Design choice.
const mostPoints = 240

func (w *writer) log(t *trace.Trace) (x, y []float64) {
	c := t.Signals[trace.Coolant]
	every := max(1, len(t.Time)/mostPoints)
	for i := 0; i < len(t.Time) && i < len(c); i += every {
		x = append(x, t.Time[i]/60)
		y = append(y, w.temperature(c[i]))
	}
	return x, y
}

func (w *writer) temperatures(c []float64) []float64 {
	out := make([]float64, len(c))
	for i, v := range c {
		out[i] = w.temperature(v)
	}
	return out
}

func (w *writer) temperature(c float64) float64 {
	if w.Units.TemperatureIn == "°F" && !math.IsNaN(c) {
		return quantity.Celsius(c).Fahrenheit()
	}
	return c
}
