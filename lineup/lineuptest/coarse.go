// Package lineuptest has models for tests of what is done with an answer.
//
// Whoever follows a job from page to page does not ask for the third digit of a
// probability, and most of a lineup's time goes into it. Tests of the odds
// themselves take lineup.DefaultModel.
package lineuptest

import "weephole/lineup"

// Within is the embedded model with lineups that end at this standard error of every
// cause's probability, 0 to 1.
func Within(standardError float64) (*lineup.Model, error) {
	m, err := lineup.DefaultModel()
	if err != nil {
		return nil, err
	}
	s := *m.Settings
	s.ErrorTarget.Value = standardError
	m.Settings = &s
	return m, nil
}

// Coarse has probabilities that are known to a few in a hundred. A cause that hides
// among engines that hardly fit may be missed, and an answer calls itself settled all
// the same. Its numbers are judgement: at an error of 0.03 a wrong cause led.
func Coarse() (*lineup.Model, error) {
	m, err := Within(0.02)
	if err == nil {
		m.Settings.RoughAbove.Value, m.Settings.SoughtRounds.Value = 0.04, 2
	}
	return m, err
}

// First is for tests that ask for engines and look at no probability: drawing ends after
// the first round, whatever came of it.
func First() (*lineup.Model, error) {
	m, err := Within(1)
	if err == nil {
		m.Settings.EnoughEngines.Value = 0
	}
	return m, err
}
