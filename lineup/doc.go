// Package lineup weighs thousands of simulated copies of one engine, each with
// something else wrong, against everything that was found on the real one.
//
// # Problem
//
// Which causes still explain the complaint, the findings in order, the repairs
// already tried and the logged runs, and how surely?
//
// # Model
//
// A candidate is a set of one or two causes and a vector of independent standard normal
// latents: the vehicle's numbers, the severities, sites and hidden states of the causes,
// the luck of each repair, the driver's habits in each log. The prior of a set comes from
// the catalogue's weights, recent work, consequences, company and worn parts beside the
// point (strata.go), and counts cars that are complained of (lineup.go). Each candidate
// lives through the case: it is run through the situations that the findings were made
// in, repaired as the car was, and weighed by every finding (weigh.go). Words are weighed
// through the catalogue, numbers through the circuit, and logs with a correlated error
// model (replay.go, residual.go).
//
// The evidence of each set of causes is estimated apart, by adaptive multiple importance
// sampling in rounds (rounds.go). The first round draws from the prior. The later ones
// draw from mixtures fitted to the engines that fit (adapt.go, proposal.go), less most of
// what will hardly fit (sieve.go). Every probability carries its standard error
// (precision.go). A cause named something-else takes what none explains (odds.go).
// docs/method.md tells it at length.
//
// # Assumptions
//
// At most two causes before any repair. Findings are independent given the
// candidate; a repeat of the same result counts in part. Silence about a sign
// counts in part. A log's likelihood is raised to a power below one, because no
// candidate is shaped quite like a real engine.
//
// # Where it stops being true
//
// The standard error knows nothing of engines that no round has met: where good
// ones are rarer than one in some thousands and no fit leads there, two seeds
// can differ by more than it says. How far the percentages can be trusted is
// measured in docs/calibration.md.
//
// # Sources
//
// Cornuet, Marin, Mira & Robert 2012 (adaptive multiple importance sampling);
// Owen & Zhou 2000 (deterministic mixture); Evensen 1994 (ensemble Kalman
// update); Kahn & Harris 1951 (Russian roulette); Cappé, Douc, Guillin, Marin & Robert
// 2008 (adapting a mixture's shares); Neyman 1934 (allocation); Holmes & Walker
// 2017 (power likelihoods); Good 1950 (weight of evidence). All from memory.
package lineup
