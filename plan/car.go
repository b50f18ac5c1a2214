package plan

import (
	"context"
	"fmt"
	"slices"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan/solve"
)

// EngineState is how the engine stands when an action begins.
type EngineState int

// The states: cold to the touch; hot, running or just stopped; drained or open; warming
// up after a cold start, watched.
const (
	Cold EngineState = iota
	Hot
	Drained
	Warming
	engineStates
)

// Workshop is where the work is done.
type Workshop struct {
	Rate  *float64 // labour, money an hour; nil: the settings' rate
	Tools []string // at hand; nil: all that are usual
	Lacks []string // known not to be at hand
	State EngineState
	Pump  string // what drives the car's coolant pump, in the job file's words; empty: not known
	// LeavesIn is how many minutes are left until the car must go; nil: no limit.
	LeavesIn *float64
}

// CarProblem is one car's plan in the making: the lineup's sample as a problem, and
// what the problem's numbers stand for.
type CarProblem struct {
	Problem  *solve.Problem
	Model    *lineup.Model
	Settings *Assumptions
	Shop     Workshop
	Rate     float64         // of labour, money an hour
	Checks   []*check.Check  // by Problem.Checks
	Results  [][]Result      // by check, by outcome
	Repairs  []*cause.Repair // by Problem.Repairs; nil is the run that shows that nothing is wrong
	With     []*cause.Repair // by Problem.Repairs: what is done in the same drain; nil for nothing
	Kinds    []cause.Present // by kind of fault
	Lacking  [][]string      // by check: tools the shop does not have
	Support  []Support       // by Problem.Repairs
	Overheat []float64       // by check: share of the engines that would pass the limit in it
	faults   [][]int
	seen     map[int]float64  // repairs of what was seen bad and is cheap, with their bills
	unasked  []unsaid         // what the owner may still be asked; see AddQuestions
	again    []bool           // by check: it was made before
	now      standing         // of the engine
	unfit    float64          // share of the engines that would overheat at once on the road
	visited  map[int]int      // by visit, from 1: checks made before
	Fan      *circuit.FanKind // nil unknown
	sample   *lineup.Sample
}

// Result says what an outcome of a check is: a word, or a reading's range in
// SI (temperatures in degC).
type Result struct {
	Word    string
	Says    string
	Reading string
	What    string // the reading's dimension
	From    float64
	To      float64
}

// NewCar turns a sample of the lineup into a problem. Checks already done since
// the last repair that changed anything are left out, but for those worth repeating.
func NewCar(m *lineup.Model, st *Assumptions, shop Workshop, sample *lineup.Sample, cs lineup.Case) (*CarProblem, error) {
	c := &CarProblem{Model: m, Settings: st, Shop: shop, Rate: st.LabourRate.Value, sample: sample, Fan: cs.Vehicle.FanKind}
	if shop.Rate != nil {
		c.Rate = *shop.Rate
	}
	c.hypotheses(sample)
	made, tried := history(cs)
	c.visited = st.visited(made)
	c.addRepairs(tried)
	for i := range m.Checks.Checks {
		k := &m.Checks.Checks[i]
		if cs.Vehicle.FanKind == nil || k.Fits(*cs.Vehicle.FanKind) {
			c.addCheck(k, sample, made[k.ID])
		}
		if k.State == "road" {
			_, soon := c.overheats(k, sample)
			c.unfit = max(c.unfit, soon)
		}
	}
	c.supports(cs)
	c.seenBad(cs)
	c.With = make([]*cause.Repair, len(c.Repairs))
	c.pairs()
	c.now = c.stands(cs)
	c.barriers(cs)
	if err := c.Problem.Validate(); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return c, nil
}

// hypotheses takes the sample's engines, and one more that stands for
// something-else.
func (c *CarProblem) hypotheses(sample *lineup.Sample) {
	p := &solve.Problem{States: int(engineStates), Tries: 2, Left: c.Shop.LeavesIn}
	n := len(sample.Faults)
	kind := make(map[cause.Present]int)
	number := func(f cause.Present) int {
		f.Severity = 0 // a repair does not care how bad it is
		if k, ok := kind[f]; ok {
			return k
		}
		k := len(c.Kinds)
		kind[f] = k
		c.Kinds = append(c.Kinds, f)
		return k
	}
	for _, faults := range sample.Faults {
		var kinds []int
		for _, f := range faults {
			if k := number(f); !slices.Contains(kinds, k) {
				kinds = append(kinds, k)
			}
		}
		slices.Sort(kinds)
		c.faults = append(c.faults, kinds)
		p.Weight = append(p.Weight, (1-sample.Other)/float64(n))
	}
	c.faults = append(c.faults, []int{number(cause.Present{Cause: c.Model.Causes.Unnamed(), Site: cause.NoSite})})
	p.Weight = append(p.Weight, sample.Other)
	p.Faults, p.Kinds = c.faults, len(c.Kinds)
	for _, f := range c.Kinds {
		p.GiveUp = append(p.GiveUp, c.handOn(f))
	}
	c.Problem = p
}

// handOn is what it costs to have a fault found and cured by somebody else.
func (c *CarProblem) handOn(f cause.Present) float64 {
	s := c.Settings
	switch r := c.Model.Causes.UsualRepair(f); {
	case f.Cause == c.Model.Causes.NoFault():
		return s.HandOnFee.Value
	case r < 0 || f.Cause == c.Model.Causes.Unnamed():
		return s.HandOnFee.Value + s.UnnamedRepair.Value
	default:
		rep := &c.Model.Causes.Repairs[r]
		return s.HandOnFee.Value + s.HandOnFactor.Value*c.Bill(rep)
	}
}

// Bill is a repair's labour, parts and consumables.
func (c *CarProblem) Bill(r *cause.Repair) float64 { return bill(c.On(r), c.Rate) }

// On is a repair as it is on this car.
func (c *CarProblem) On(r *cause.Repair) *cause.Repair { return r.On(c.Shop.Pump) }

func bill(r *cause.Repair, rate float64) float64 {
	return r.Minutes.Typical/60*rate + r.Parts.Typical + r.Consumables.Value
}

// Bill is a repair's labour, parts and consumables in a shop.
func (a *Assumptions) Bill(r *cause.Repair, s Workshop) float64 {
	if s.Rate != nil {
		return bill(r.On(s.Pump), *s.Rate)
	}
	return bill(r.On(s.Pump), a.LabourRate.Value)
}

// proof is the cost of the run that proves a repair.
func (c *CarProblem) proof() float64 {
	s := c.Settings
	return s.ProofRun.Value / 60 * c.Rate * s.ProofWatched.Value
}

// addRepairs makes each of the catalogue's repairs an action, and the run that
// shows that nothing is wrong.
func (c *CarProblem) addRepairs(tried map[string]int) {
	m := c.Model.Causes
	for i := range m.Repairs {
		r := &m.Repairs[i]
		if r.ID == handOnRepair {
			continue // that is what giving up means here
		}
		cures := make([]float64, len(c.Kinds))
		useful := false
		for k, f := range c.Kinds {
			cures[k] = r.Succeeds(m, f)
			useful = useful || cures[k] > 0
		}
		if !useful {
			continue
		}
		price := c.Bill(r) + c.proof()
		rep := solve.RepairAction{Cures: cures, NeedOdds: r.NeedOdds.Value, Done: tried[r.ID]}
		rep.Wrong = c.Settings.WrongRepair.Value
		if r.Big {
			rep.Wrong = c.Settings.WrongBigRepair.Value
		}
		for state := range engineStates {
			cost, minutes := price, c.On(r).Minutes.Typical+c.Settings.ProofRun.Value
			switch {
			case (state == Hot || state == Warming) && r.State != "any":
				cost += c.wait()
				minutes += c.RepairWait(r, state)
			case state == Drained && r.Drained():
				cost -= c.Settings.Drain.Value / 60 * c.Rate
			}
			rep.Cost = append(rep.Cost, cost)
			rep.Minutes = append(rep.Minutes, minutes)
			rep.Then = append(rep.Then, int(Hot)) // the proof run leaves it hot
		}
		c.Problem.Repairs = append(c.Problem.Repairs, rep)
		c.Repairs = append(c.Repairs, r)
	}
	cures := make([]float64, len(c.Kinds))
	for k, f := range c.Kinds {
		if f.Cause == m.NoFault() {
			cures[k] = 1
		}
	}
	run := solve.RepairAction{Cures: cures, NeedOdds: c.Settings.HealthyOdds.Value}
	for range engineStates {
		run.Cost = append(run.Cost, c.proof())
		run.Minutes = append(run.Minutes, c.Settings.ProofRun.Value)
		run.Then = append(run.Then, int(Hot))
	}
	c.Problem.Repairs = append(c.Problem.Repairs, run)
	c.Repairs = append(c.Repairs, nil)
}

// handOnRepair is the catalogue's repair that stands for another shop's work.
const handOnRepair = "send-to-specialist"

// Search prepares the search for the car's plan, in so many rounds more than a first
// answer takes.
func (c *CarProblem) Search(more int) *solve.Search {
	return solve.New(c.Problem, more).Prefer(solve.Preference{
		Seen: c.seen, Likely: c.Settings.Likely.Value, Within: c.Settings.Within.Value, Inefficiency: c.Settings.Inefficiency.Value, Order: c.order(), AtOnce: c.atOnce(), Back: c.wait(), Before: c.visited, Enough: int(c.Settings.RoundBegun.Value),
	})
}

// lacks lists the tools of a check that the shop does not have.
func (c *CarProblem) lacks(tools []string) (missing []string, price float64) {
	for _, id := range tools {
		t := c.Model.Causes.Tool(id)
		dear := c.Shop.Tools == nil && t != nil && t.Price.Typical >= c.Settings.DearTool.Value
		if dear || slices.Contains(c.Shop.Lacks, id) || c.Shop.Tools != nil && !slices.Contains(c.Shop.Tools, id) {
			missing = append(missing, id)
			if t != nil {
				price += t.Price.Typical
			}
		}
	}
	return missing, price
}

// addCheck makes a check an action if it can tell anything apart and has not been made
// already, or is worth making again.
func (c *CarProblem) addCheck(k *check.Check, sample *lineup.Sample, before earlier) {
	p, results := c.outcomes(k, sample)
	if p != nil && before.times > 0 {
		p = c.onceMore(k, p, before)
	}
	if p == nil {
		return
	}
	hot, unfit := c.overheats(k, sample)
	if k.State == "road" && unfit >= c.Settings.UnfitRoad.Value {
		return // such a car is carried, not driven
	}
	missing, price := c.lacks(k.Tools)
	ch := solve.CheckAction{P: p, Far: len(missing) > 0, Hurt: c.hurt(k, sample), MostHurt: c.Settings.NeckRisk.Value}
	for state := range engineStates {
		way, then := c.passage(k, state)
		minutes := k.Minutes.Typical
		if c.alongside(k, state) {
			minutes, _ = c.Settings.alongside(k.ID)
		}
		cost := way + hot*c.Settings.HeatLimitWorth.Value + minutes/60*c.Rate + k.Consumables.Value + price*c.Settings.ToolShare.Value
		if long := c.Settings.longWait(k.ID); long != nil {
			cost += long.Cost
		}
		ch.Cost = append(ch.Cost, cost)
		ch.Minutes = append(ch.Minutes, c.Wait(k, state)+minutes)
		ch.Then = append(ch.Then, int(then))
	}
	c.Problem.Checks = append(c.Problem.Checks, ch)
	c.Checks = append(c.Checks, k)
	c.Results = append(c.Results, results)
	c.Lacking = append(c.Lacking, missing)
	c.Overheat = append(c.Overheat, hot)
	c.again = append(c.again, before.times > 0)
}

// ForLineup samples the lineup and makes its plan's problem.
func ForLineup(ctx context.Context, l *lineup.Lineup, st *Assumptions, shop Workshop) (*CarProblem, error) {
	sample, err := l.Sample(ctx, int(st.Sample.Value))
	if err != nil {
		return nil, err
	}
	return NewCar(l.Model(), st, shop, sample, l.Case())
}
