package tally

import (
	"context"
	"fmt"
	"slices"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/proof"
)

// Closed is what is needed to enter a closed job.
type Closed struct {
	Job       *job.Job
	Repairs   []string
	Judgement *proof.Judgement // of the repair; nil: nothing was seen after it
	Lineup    *lineup.Lineup   // before the repair; nil: the findings teach nothing
	Before    lineup.Case
}

// Entry makes the entry of a closed job. It fails with ErrUnproven, ErrNoCause
// or ErrKeptOut where the job must not teach.
func (c *Closed) Entry(ctx context.Context) (Entry, error) {
	e := Entry{Version: version, Job: c.Job.Name, When: c.Job.Closing.When, Repairs: c.Repairs}
	switch {
	case c.Job.Closing.Tally == "no":
		return e, fmt.Errorf("%s: %w", c.Job.Name, ErrKeptOut)
	case c.Job.Closing.Cause == "" || c.Job.Closing.Cause == job.Unknown:
		return e, fmt.Errorf("%s: %w", c.Job.Name, ErrNoCause)
	case c.Job.Name == "":
		return e, fmt.Errorf("the job has no name: write job: and one that no other job has")
	case !proven(c.Judgement):
		return e, fmt.Errorf("%s: %w", c.Job.Name, ErrUnproven)
	}
	e.Causes = []string{c.Job.Closing.Cause}
	e.Gone = c.Judgement.Gone
	if c.Lineup == nil {
		return e, nil
	}
	return e, c.findings(ctx, &e)
}

// leastGone is the probability that the cause is gone from which one that was
// proven gone only as far as could be seen teaches: what a small rest of it
// would change is not which cause it was. Judgement.
const leastGone = 0.98

// proven tells whether the repaired cause is proven gone and nothing found that
// is still wrong.
func proven(j *proof.Judgement) bool {
	switch {
	case j == nil, j.AsFarAsSeen() == proof.NotProven:
		return false
	case j.Cause == proof.Proven:
		return true
	}
	return j.CauseSeen == proof.Proven && j.Gone >= leastGone
}

// mostEngines with the true cause give a finding's probability: enough for two
// digits.
// Design choice.
const mostEngines = 60

// findings adds each finding in words made before the repair, with the
// probability that engines like this one with the true cause show it. A repeat
// of the same check is left out: it is hardly another finding.
func (c *Closed) findings(ctx context.Context, e *Entry) error {
	m := c.Lineup.Model()
	index := m.Causes.Index(e.Causes[0])
	type engine struct {
		faults []cause.Present
		circ   circuit.Circuit
		weight float64
		record circuit.Record
	}
	var with []engine
	engines := c.Lineup.Engines()
	slices.SortStableFunc(engines, func(a, b lineup.Engine) int {
		switch {
		case a.Weight > b.Weight:
			return -1
		case a.Weight < b.Weight:
			return 1
		}
		return 0
	})
	for i := range engines {
		en := &engines[i]
		if len(with) < mostEngines && slices.ContainsFunc(en.Faults, func(f cause.Present) bool { return f.Cause == index }) {
			with = append(with, engine{faults: en.Faults, circ: en.Circuit(en.Faults...), weight: en.Weight})
		}
	}
	drill := circuit.NewDrill(circuit.Coarse)
	for i := range with {
		if err := ctx.Err(); err != nil {
			return err
		}
		drill.Run(&with[i].circ, c.Before.Shop, circuit.AllSituations(), &with[i].record)
	}
	seen := make(map[string]bool)
	for i := range c.Before.Events {
		ev := &c.Before.Events[i]
		k := m.Checks.Check(ev.Check)
		if k == nil || ev.Word == "" || len(k.Words) < 2 || seen[ev.Check] || ev.Conditions != nil {
			continue
		}
		seen[ev.Check] = true
		word := k.WordIndex(ev.Word)
		p, sum, mass := make([]float64, len(k.Words)), 0.0, 0.0
		for n := range with {
			k.Shows(&check.Subject{Causes: with[n].faults, Record: &with[n].record}, p)
			sum += with[n].weight * p[word]
			mass += with[n].weight
		}
		if mass > 0 {
			e.Findings = append(e.Findings, Result{Check: ev.Check, Word: ev.Word, Words: len(k.Words), Likelihood: min(1, sum/mass), Blunder: k.Blunder.Share})
		}
	}
	return nil
}
