package weighing

import (
	"context"

	"weephole/internal/casework"
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
		band, err := casework.BandAlong(ctx, m, b.work.Case.Vehicle, cond, ev.Log, tr.Time[0], l.Engines())
		if err != nil {
			return nil, err
		}
		if band != nil {
			out = append(out, Band{Trace: tr.Name, Minutes: band.Minutes, LowC: band.LowC, HighC: band.HighC})
		}
	}
	return out, nil
}
