// Package lineuptest has the model for tests of what is done with an answer.
//
// Whoever follows a job from page to page does not ask for the third digit of a
// probability, and most of a lineup's time goes into it. Tests of the odds
// themselves take lineup.DefaultModel.
package lineuptest

import "weephole/lineup"

// Coarse is the embedded model with lineups that end early. Probabilities are
// known to a few in a hundred, a cause that hides among engines that hardly fit
// may be missed, and an answer calls itself settled all the same.
func Coarse() (*lineup.Model, error) {
	m, err := lineup.DefaultModel()
	if err != nil {
		return nil, err
	}
	s := *m.Settings
	s.ErrorTarget.Value, s.RoughAbove.Value = 0.02, 0.04
	s.SoughtRounds.Value = 2
	m.Settings = &s
	return m, nil
}
