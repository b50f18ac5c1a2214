package weighing

import (
	"context"
	"math"
	"sort"

	"weephole/circuit"
	"weephole/internal/chart"
	"weephole/lineup"
)

// Band is what engines that still fit would have read along a log.
type Band struct {
	Trace   string    `json:"trace"`   // the log's file name
	Minutes []float64 `json:"minutes"` // on the log's clock
	LowC    []float64 `json:"low_c"`   // 10th percentile, degC
	HighC   []float64 `json:"high_c"`  // 90th percentile
}

// Chart is the band as a chart draws it, in minutes and degC.
func (b *Band) Chart() chart.Band {
	return chart.Band{Name: "still fits", X: b.Minutes, Low: b.LowC, High: b.HighC}
}

const (
	bandEngines = 60   // engines run along a log: judgement, the edges are then good to some per cent
	bandEdge    = 0.10 // share left out at each side
)

// bands runs engines that still fit along every log of the case.
func (b *bench) bands(ctx context.Context, m *lineup.Model, l *lineup.Lineup) ([]Band, error) {
	var out []Band
	for i := range b.work.Case.Events {
		ev, tr := &b.work.Case.Events[i], b.work.Traces[i]
		if ev.Log == nil || tr == nil || len(ev.Log.Segments) == 0 || len(tr.Time) == 0 {
			continue
		}
		cond := b.work.Case.Shop
		if ev.Conditions != nil {
			cond = *ev.Conditions
		}
		along := lineup.NewAlong(m.Settings, ev.Log, b.work.Case.Vehicle.Fuel != circuit.Diesel)
		var runs [][]float64
		for _, e := range pick(l.Engines(), bandEngines) {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			circ := e.Circuit(e.Faults...)
			runs = append(runs, append([]float64(nil), along.Readings(&circ, cond, nil)...))
		}
		if len(runs) < enoughToForesee {
			continue
		}
		out = append(out, bandOf(tr.Name, tr.Time[0], ev.Log, runs))
	}
	return out, nil
}

// pick takes n engines evenly through the weights (systematic resampling).
func pick(engines []lineup.Engine, n int) []*lineup.Engine {
	var out []*lineup.Engine
	at, sum := 0.5/float64(n), 0.0
	for i := range engines {
		sum += engines[i].Weight
		for at < sum && len(out) < n {
			out = append(out, &engines[i])
			at += 1 / float64(n)
		}
	}
	return out
}

func bandOf(name string, start float64, log *lineup.Log, runs [][]float64) Band {
	b := Band{Trace: name}
	clock := start
	column := make([]float64, 0, len(runs))
	for k := range log.Segments {
		clock += log.Segments[k].Seconds
		column = column[:0]
		for _, r := range runs {
			if k < len(r) && !math.IsNaN(r[k]) {
				column = append(column, r[k])
			}
		}
		if len(column) < enoughToForesee {
			continue
		}
		sort.Float64s(column)
		edge := int(bandEdge * float64(len(column)))
		b.Minutes = append(b.Minutes, clock/60)
		b.LowC, b.HighC = append(b.LowC, column[edge]), append(b.HighC, column[len(column)-1-edge])
	}
	return b
}
