package trial

import (
	"fmt"

	"weephole/cause"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// prices says what every check and repair costs in every state of the engine,
// by the plan's own figures, so that all ways of working pay the same.
type prices struct {
	check  map[string]solve.CheckAction
	repair map[string]solve.RepairAction
	run    solve.RepairAction // the run that shows that nothing is wrong
	handOn map[cause.Present]float64
	parts  map[string]float64 // of the cost, what is not time
	rate   float64            // money an hour
	visit  map[string]int     // by check: the visit to the engine that it belongs to; 0 for none
}

// newPrices makes a problem in which every single fault is possible, and keeps
// its costs.
func newPrices(m *lineup.Model, st *plan.Assumptions) (*prices, error) {
	sample := &lineup.Sample{Other: 0.01}
	drill := circuit.NewDrill(circuit.Coarse)
	cond := circuit.Conditions{AmbientC: 20}
	for _, f := range everyFault(m.Causes) {
		circ := m.Table.Typical(circuit.Vehicle{})
		m.Causes.Causes[f.Cause].Apply(0.5, f.Hidden[:], &circ)
		var r circuit.Record
		drill.Run(&circ, cond, circuit.AllSituations(), &r)
		sample.Faults = append(sample.Faults, []cause.Present{f})
		sample.Records = append(sample.Records, &r)
	}
	car, err := plan.NewCar(m, st, plan.Workshop{}, sample, lineup.Case{Shop: cond})
	if err != nil {
		return nil, fmt.Errorf("trial: prices: %w", err)
	}
	p := &prices{
		check: make(map[string]solve.CheckAction), repair: make(map[string]solve.RepairAction),
		handOn: make(map[cause.Present]float64), parts: make(map[string]float64), rate: car.Rate, visit: make(map[string]int),
	}
	for i, k := range car.Checks {
		p.check[k.ID] = car.Problem.Checks[i]
		p.parts[k.ID] = k.Consumables.Value
		p.visit[k.ID] = st.Visit(k.ID)
	}
	for i, r := range car.Repairs {
		if r == nil {
			p.run = car.Problem.Repairs[i]
			continue
		}
		if car.With[i] != nil {
			continue // the two in one drain: each has a price of its own
		}
		p.repair[r.ID] = car.Problem.Repairs[i]
		p.parts[r.ID] = r.Parts.Typical + r.Consumables.Value
	}
	for k, f := range car.Kinds {
		p.handOn[f] = car.Problem.GiveUp[k]
	}
	return p, nil
}

// everyFault lists each cause at each site in each hidden state, something-else
// among them.
func everyFault(cat *cause.Catalogue) []cause.Present {
	var list []cause.Present
	for i := range cat.Causes {
		c := &cat.Causes[i]
		sites := []int{cause.NoSite}
		if len(c.Sites) > 0 {
			sites = sites[:0]
			for s := range c.Sites {
				sites = append(sites, s)
			}
		}
		for _, s := range sites {
			states := [][cause.MaxHidden]int{{}}
			for h := range c.Hidden {
				var more [][cause.MaxHidden]int
				for _, have := range states {
					for k := range c.Hidden[h].States {
						have[h] = k
						more = append(more, have)
					}
				}
				states = more
			}
			for _, h := range states {
				list = append(list, cause.Present{Cause: i, Site: s, Hidden: h})
			}
		}
	}
	return list
}

// handing is what it costs to hand the car on with what is still wrong.
func (p *prices) handing(cat *cause.Catalogue, v *visit) float64 {
	most := 0.0
	see := func(f cause.Present) {
		f.Severity = 0
		most = max(most, p.handOn[f])
	}
	for _, f := range v.faults {
		see(f)
	}
	if v.beyond {
		see(cause.Present{Cause: cat.Unnamed(), Site: cause.NoSite})
	}
	if v.cured() {
		see(cause.Present{Cause: cat.NoFault(), Site: cause.NoSite})
	}
	return most
}
