package work

import (
	"context"
	"math"
	"sort"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/trace"
)

// LogBand is between which temperatures engines of a lineup would have read along
// a log: the 10th to the 90th percentile.
type LogBand struct {
	Trace   string    `json:"trace"`   // the log's file name
	Minutes []float64 `json:"minutes"` // on the log's clock
	LowC    []float64 `json:"low_c"`   // degC
	HighC   []float64 `json:"high_c"`
}

// Bands runs engines that still fit along every log of the case.
func (w *Work) Bands(ctx context.Context, l *lineup.Lineup) ([]LogBand, error) {
	var out []LogBand
	for i := range w.Case.Events {
		ev, tr := &w.Case.Events[i], w.Traces[i]
		if ev.Log == nil || tr == nil || len(ev.Log.Segments) == 0 || len(tr.Time) == 0 {
			continue
		}
		cond := w.Case.Shop
		if ev.Conditions != nil {
			cond = *ev.Conditions
		}
		band, err := w.BandAlong(ctx, cond, ev.Log, tr, l.Engines())
		if err != nil {
			return nil, err
		}
		if band != nil {
			out = append(out, *band)
		}
	}
	return out, nil
}

const (
	bandEngines = 60   // engines run along a log: judgement, the edges are then good to some per cent
	bandEdge    = 0.10 // share left out at each side
	bandLeast   = 8    // fewer engines make no band; judgement
)

// BandAlong runs engines along a log of the trace. It is nil when too few engines
// are there to speak of a band.
func (w *Work) BandAlong(ctx context.Context, cond circuit.Conditions, log *lineup.Log, tr *trace.Trace, engines []lineup.Engine) (*LogBand, error) {
	along := lineup.NewAlong(w.Model.Settings, log, w.Case.Vehicle.Fuel != circuit.Diesel)
	var runs [][]float64
	for _, e := range spread(engines, bandEngines) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		circ := e.Circuit(e.Faults...)
		runs = append(runs, append([]float64(nil), along.Readings(&circ, cond, nil)...))
	}
	b := &LogBand{Trace: tr.Name}
	clock := tr.Time[0]
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
