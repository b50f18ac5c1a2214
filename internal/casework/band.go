package casework

import (
	"context"
	"math"
	"sort"

	"weephole/circuit"
	"weephole/lineup"
)

// Band is between which temperatures engines of a lineup would have read along
// a log: the 10th to the 90th percentile.
type Band struct {
	Minutes []float64 // on the log's clock
	LowC    []float64 // degC
	HighC   []float64 // degC
}

const (
	bandEngines = 60   // engines run along a log: judgement, the edges are then good to some per cent
	bandEdge    = 0.10 // share left out at each side
	bandLeast   = 8    // fewer engines make no band; judgement
)

// BandAlong runs engines along a log whose clock begins at start (s). It is nil
// when too few engines are there to speak of a band.
func BandAlong(ctx context.Context, m *lineup.Model, v circuit.Vehicle, cond circuit.Conditions, log *lineup.Log, start float64, engines []lineup.Engine) (*Band, error) {
	along := lineup.NewAlong(m.Settings, log, v.Fuel != circuit.Diesel)
	var runs [][]float64
	for _, e := range spread(engines, bandEngines) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		circ := e.Circuit(e.Faults...)
		runs = append(runs, append([]float64(nil), along.Readings(&circ, cond, nil)...))
	}
	b := &Band{}
	clock := start
	for k := range log.Segments {
		clock += log.Segments[k].Seconds
		var column []float64
		for _, r := range runs {
			if k < len(r) && !math.IsNaN(r[k]) {
				column = append(column, r[k])
			}
		}
		if len(column) < bandLeast {
			continue
		}
		sort.Float64s(column)
		edge := int(bandEdge * float64(len(column)))
		b.Minutes = append(b.Minutes, clock/60)
		b.LowC, b.HighC = append(b.LowC, column[edge]), append(b.HighC, column[len(column)-1-edge])
	}
	if len(b.Minutes) == 0 {
		return nil, nil
	}
	return b, nil
}

// spread takes n engines evenly through the weights (systematic resampling).
func spread(engines []lineup.Engine, n int) []*lineup.Engine {
	total := 0.0
	for i := range engines {
		total += engines[i].Weight
	}
	var out []*lineup.Engine
	at, sum := 0.5*total/float64(n), 0.0
	for i := range engines {
		sum += engines[i].Weight
		for at < sum && len(out) < n {
			out = append(out, &engines[i])
			at += total / float64(n)
		}
	}
	return out
}
