package proof

import (
	"context"
	"math"
	"sort"
	"strconv"
)

// RunBands is where repaired and unrepaired engines of this kind would have been
// along a logged run, for drawing before and after on one chart. Times in s,
// temperatures in degC; NaN where the log has no coolant.
type RunBands struct {
	Time    Series `json:"time_s"`
	Coolant Series `json:"coolant_c"` // the log's own
	// Low, Middle and High are the 5th, 50th and 95th percentile of the engines
	// with nothing wrong; their own differences and the model's error included.
	Low    Series `json:"low_c"`
	Middle Series `json:"middle_c"`
	High   Series `json:"high_c"`
	// Still is the middle of the engines with the cause still there.
	Still Series `json:"still_c"`
}

// Series is a series of numbers; NaN is written as null in JSON.
type Series []float64

// MarshalJSON writes the series to a hundredth.
func (s Series) MarshalJSON() ([]byte, error) {
	out := []byte{'['}
	for i, v := range s {
		if i > 0 {
			out = append(out, ',')
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			out = append(out, "null"...)
			continue
		}
		out = strconv.AppendFloat(out, math.Round(v*100)/100, 'f', -1, 64)
	}
	return append(out, ']'), nil
}

// bandDeviate is the standard normal deviate of the 5th and 95th percentile.
const bandDeviate = 1.645

// Band simulates the engines along a log.
func (p *Proof) Band(ctx context.Context, e Evidence) (*RunBands, error) {
	sims, err := p.simulate(ctx, &e, func(c Class) bool { return c == Good || c == Still })
	if err != nil {
		return nil, err
	}
	b := &RunBands{}
	model, _, _ := p.along(&e).Errors()
	at := 0.0
	for k := range e.Log.Segments {
		at += e.Log.Segments[k].Seconds
		b.Time = append(b.Time, at)
		b.Coolant = append(b.Coolant, e.Log.Segments[k].CoolantC)
		q := p.quantiles(sims, k, Good, 0.05, 0.5, 0.95)
		// The model's own error widens the spread of the engines.
		b.Low = append(b.Low, q[1]-math.Hypot(q[1]-q[0], bandDeviate*model.ModelSD))
		b.Middle = append(b.Middle, q[1])
		b.High = append(b.High, q[1]+math.Hypot(q[2]-q[1], bandDeviate*model.ModelSD))
		b.Still = append(b.Still, p.quantiles(sims, k, Still, 0.5)[0])
	}
	return b, nil
}

// quantiles of a class's readings at stretch k, by weight.
func (p *Proof) quantiles(sims [][]float64, k int, c Class, at ...float64) []float64 {
	type point struct{ x, w float64 }
	var points []point
	total := 0.0
	for i := range p.list {
		if h := &p.list[i]; h.class == c && sims[i] != nil {
			points = append(points, point{sims[i][k], h.weight})
			total += h.weight
		}
	}
	sort.Slice(points, func(a, b int) bool { return points[a].x < points[b].x })
	out := make([]float64, len(at))
	for q := range at {
		out[q] = math.NaN()
		sum := 0.0
		for _, pt := range points {
			if sum += pt.w; sum >= at[q]*total {
				out[q] = pt.x
				break
			}
		}
	}
	return out
}
