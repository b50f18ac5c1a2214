package trial

import (
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"text/template"

	"weephole/internal/trial/stranger"
)

// The goals on cars that are not the program's own: from the project's own
// requirement, real cases for the fuller words that a job file has now (with the
// old ones 60 and 82 %).
const (
	goalRealFirst      = 0.70
	goalRealThree      = 0.90
	goalSureRight      = 0.80
	goalStrangerFirst  = 0.70
	goalStrangerThree  = 0.88
	goalStrangerPairs  = 0.60
	goalStrangerSound  = 0.80
	goalGasketMissSoft = 0.08
)

// Side is one world's line in the table of all worlds, with its goals.
type Side struct {
	World string
	Cars  int
	Score *Score // nil for the trial's own world, which has a page of its own
	Goals []Goal
	// Details, if not empty, are the world's own tables.
	Details string
}

func meanGoal(what string, goal float64, m Mean) Goal {
	return Goal{what, fmt.Sprintf("at least %.0f %%", 100*goal), m.Value, m.Low, m.High, m.Of, m.Of > 0 && m.Value >= goal, true}
}

// Sides are the lines of real cases, program and readers.
func (r *CaseReport) Sides() []Side {
	var list []Side
	for _, g := range r.Groups {
		s := g.Score
		x := Side{World: "real cases: " + g.Of, Cars: s.Cars, Score: &s}
		if g.Of == caseFair {
			x.Goals = []Goal{
				meanGoal("real cases: true cause first", goalRealFirst, s.First),
				meanGoal("real cases: among the first three", goalRealThree, s.Three),
				meanGoal("real cases: leaders said at 80 % and more are right", goalSureRight, s.Sure.Right),
			}
		}
		list = append(list, x)
	}
	for _, g := range r.Readers {
		s := g.Score
		list = append(list, Side{World: "real cases, a reader given: " + g.Of, Cars: s.Cars, Score: &s})
	}
	if len(list) > 0 {
		list[0].Details = "## Real cases\n\nWhat the leaders said, cause not known beforehand:\n\n" + binsTable(list[0].Score.Bins) +
			"\nBy true cause:\n\n" + truthTable(r.Causes) + "\nMisses, the surest first:\n\n" + missTable(r.Misses)
	}
	return list
}

// Sides are the lines of the stranger's world.
func (r *StrangerReport) Sides() []Side {
	kind := "fresh"
	if !r.Fresh {
		kind = "TUNING"
	}
	var list []Side
	for _, st := range r.Stages {
		name := fmt.Sprintf("stranger (%s seed %d), %s: ", kind, r.Seed, st.Told)
		for _, g := range st.Groups {
			s := g.Score
			x := Side{World: name + g.Of, Cars: s.Cars, Score: &s}
			if st.Told == wholeStage {
				x.Goals = strangerGoals(g.Of, &s)
			}
			list = append(list, x)
		}
		for _, g := range st.Neighbours {
			s := g.Score
			list = append(list, Side{World: name + g.Of + ", nearest neighbours", Cars: s.Cars, Score: &s})
		}
		if len(list) > 0 && st.Told == wholeStage {
			list[len(list)-1].Details = fmt.Sprintf("## The stranger's world, seed %d, %s\n\nOne fault, by cause:\n\n%s\nAll, and by drive:\n\n%s\nMisses among single faults, the surest first:\n\n%s",
				r.Seed, st.Told, truthTable(st.Causes), scoreTable("cars with", slices.Concat(st.Groups, st.Drives)), missTable(st.Misses))
		}
	}
	return list
}

// wholeStage is the stage at which everything is told.
const wholeStage = "all tests and log"

func strangerGoals(of string, s *Score) []Goal {
	switch of {
	case stranger.Single.String():
		return []Goal{
			meanGoal("stranger's single faults, all facts: true cause first", goalStrangerFirst, s.First),
			meanGoal("stranger's single faults, all facts: among the first three", goalStrangerThree, s.Three),
		}
	case stranger.Pair.String():
		return []Goal{meanGoal("stranger's pairs, all facts: both among the first three", goalStrangerPairs, s.AllThree)}
	case stranger.Healthy.String():
		return []Goal{meanGoal("stranger's healthy cars, all facts: called healthy", goalStrangerSound, s.First)}
	}
	return []Goal{meanGoal("stranger's cars, all facts: leaders said at 80 % and more are right", goalSureRight, s.Sure.Right)}
}

// ownWorld is what is read of the trial's own report.
type ownWorld struct {
	Measured
	Goals []Goal `json:"goals"`
}

func (o *ownWorld) sides() []Side {
	x := Side{World: fmt.Sprintf("the trial's own world (seed %d)", o.Seed), Cars: o.Jobs, Goals: o.Goals}
	for i := range x.Goals {
		x.Goals[i].What = "own trial: " + x.Goals[i].What
	}
	missed := o.Gasket.Missed
	x.Goals = append(x.Goals, Goal{"own trial: head gasket missed, the goal for now", "at most 8 %", missed.Value, missed.Low, missed.High,
		missed.Of, missed.Value <= goalGasketMissSoft, true})
	return []Side{x}
}

// ReadReport reads a report that was written with --json, whichever it is.
func ReadReport(data []byte) ([]Side, error) {
	var which struct {
		Jobs   *int             `json:"jobs"`
		Cases  *int             `json:"cases"`
		Stages *json.RawMessage `json:"stages"`
	}
	if err := json.Unmarshal(data, &which); err != nil {
		return nil, fmt.Errorf("no report: %w", err)
	}
	switch {
	case which.Cases != nil:
		var r CaseReport
		if err := json.Unmarshal(data, &r); err != nil {
			return nil, err
		}
		return r.Sides(), nil
	case which.Stages != nil:
		var r StrangerReport
		if err := json.Unmarshal(data, &r); err != nil {
			return nil, err
		}
		return r.Sides(), nil
	case which.Jobs != nil:
		var o ownWorld
		if err := json.Unmarshal(data, &o); err != nil {
			return nil, err
		}
		return o.sides(), nil
	}
	return nil, errors.New("no report: found neither cases nor stages nor jobs; give what weephole trial --json wrote")
}

//go:embed worlds.md
var worldsPage string

// WriteWorlds writes all worlds side by side, the misses first: the words that are
// kept by hand in worlds.md, with the tables of these reports in them.
func WriteWorlds(w io.Writer, sides []Side) error {
	var missed, reached []Goal
	details := ""
	for _, s := range sides {
		for _, g := range s.Goals {
			if g.Met {
				reached = append(reached, g)
			} else {
				missed = append(missed, g)
			}
		}
		if s.Details != "" {
			details += "\n" + s.Details
		}
	}
	t, err := template.New("worlds.md").Funcs(template.FuncMap{
		"missed": func() string { return goalsList(missed) }, "reached": func() string { return goalsList(reached) },
		"sides": func() string { return sidesTable(sides) }, "details": func() string { return details },
	}).Parse(worldsPage)
	if err != nil {
		return fmt.Errorf("trial: worlds.md: %w", err)
	}
	return t.Execute(w, nil)
}

func sidesTable(sides []Side) string {
	t := newMarkdown("cars of", "cars", "true cause first", "among first three", "all of them", "probability on it", "log score, nats",
		"leaders said", "calibration error", "by chance", "said at 80 % and more", "of those right")
	for _, s := range sides {
		if s.Score == nil || s.Score.Cars == 0 {
			continue
		}
		x := s.Score
		t.row(s.World, fmt.Sprint(x.Cars), x.First.percent(), x.Three.percent(), x.AllThree.percent(), fmt.Sprintf("%.2f", x.OnTruth.Value),
			fmt.Sprintf("%.2f", x.LogScore.Value), fmt.Sprintf("%.2f", x.Said.Value), fmt.Sprintf("%.3f", x.ECE.Value), fmt.Sprintf("%.3f", x.Chance),
			fmt.Sprintf("%d, said %.2f", x.Sure.Cars, x.Sure.Said), x.Sure.Right.percent())
	}
	return t.b.String()
}

func goalsList(list []Goal) string {
	if len(list) == 0 {
		return "Nothing.\n"
	}
	t := newMarkdown("asked", "", "measured", "95 % interval", "cars")
	for _, g := range list {
		value, interval := fmt.Sprintf("%.3f", g.Measured), fmt.Sprintf("%.3f to %.3f", g.Low, g.High)
		if g.Share {
			value, interval = percent(g.Measured), percent(g.Low)+" to "+percent(g.High)
		}
		if g.Of == 0 {
			value, interval = "never said", "-"
		}
		t.row(g.What, g.Asked, value, interval, fmt.Sprint(g.Of))
	}
	return t.b.String()
}
