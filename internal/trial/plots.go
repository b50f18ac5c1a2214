package trial

import (
	"fmt"
	"os"
	"path/filepath"

	"weephole/internal/atomicfile"
	"weephole/internal/chart"
)

// WritePlots writes the report's pictures into the folder, which is made if
// need be.
func (m *Measured) WritePlots(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("trial: plots: %w", err)
	}
	pictures := map[string]string{
		"calibration.svg": m.calibrationPlot().SVG(),
		"belief.svg":      m.beliefPlot().SVG(),
		"cost.svg":        m.costBars().SVG(),
	}
	for name, svg := range pictures {
		if err := atomicfile.WriteFile(filepath.Join(folder, name), []byte(svg), 0o644); err != nil {
			return fmt.Errorf("trial: plots: %w", err)
		}
	}
	return nil
}

func (m *Measured) calibrationPlot() chart.Plot {
	var dots chart.Points
	dots.Name = "leading cause, by tenths of its probability"
	for _, b := range m.Bins {
		if b.Right.Of == 0 {
			continue
		}
		dots.X = append(dots.X, 100*b.Said)
		dots.Y = append(dots.Y, 100*b.Right.Value)
		dots.Low = append(dots.Low, 100*b.Right.Low)
		dots.High = append(dots.High, 100*b.Right.High)
	}
	return chart.Plot{
		Title: "Of the times it was said, how often it was right",
		Desc: fmt.Sprintf("Share of right statements against the probability said, with 95 %% intervals; %d cars, expected calibration error %.3f.",
			m.Jobs, m.ECE.Value),
		X:        chart.Axis{Label: "said, %", Min: 0, Max: 100},
		Y:        chart.Axis{Label: "right, %", Min: 0, Max: 100},
		Dots:     []chart.Points{dots},
		Diagonal: true, Width: 520, Height: 480, Standalone: true,
	}
}

func (m *Measured) beliefPlot() chart.Plot {
	on := chart.Curve{Name: "probability on the true cause", Accent: true}
	band := chart.Band{Name: "95 % interval"}
	first := chart.Curve{Name: "share in which it leads", Dash: true}
	for i, x := range m.Moments[:4] {
		at := []float64{0, 3, 6, 9}[i]
		on.X, on.Y = append(on.X, at), append(on.Y, x.OnTrue.Value)
		band.X, band.Low, band.High = append(band.X, at), append(band.Low, x.OnTrue.Low), append(band.High, x.OnTrue.High)
		first.X, first.Y = append(first.X, at), append(first.Y, x.First.Value)
	}
	return chart.Plot{
		Title: "How the true cause comes forward",
		Desc:  "Mean probability on the true cause of cars with one, after the complaint, three checks, six checks, and at the first repair.",
		X:     chart.Axis{Label: "checks made (last: first repair named)", Min: 0, Max: 9},
		Y:     chart.Axis{Label: "probability, or share of cars", Min: 0, Max: 1},
		Bands: []chart.Band{band}, Lines: []chart.Curve{on, first}, Standalone: true,
	}
}

func (m *Measured) costBars() chart.Bars {
	b := chart.Bars{
		Title: "Cost to a proven repair, US$", Desc: "Mean cost a car by way of working, with 95 % intervals.",
		Format: "%.0f", Standalone: true,
	}
	for _, w := range m.Ways {
		if w.Cost.Of > 0 {
			b.Items = append(b.Items, chart.Bar{Label: w.Way, Value: w.Cost.Value, Low: w.Cost.Low, High: w.Cost.High, Note: fmt.Sprintf("%d cars", w.Cost.Of)})
		}
	}
	return b
}
