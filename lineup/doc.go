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
// A candidate is a set of one or two causes and a vector of independent standard
// normal latents: the vehicle's numbers, the severities, sites and hidden states
// of the causes, the luck of each repair, the driver's habits in each log. The
// prior of a set comes from the catalogue's weights, recent work, consequences
// and company (strata.go), and counts cars that are complained of (lineup.go).
// Candidates are shared out over the sets by the square root of their prior, so
// that rare causes stay alive, and weighted back. Each lives through the case:
// it is run through the situations that the findings were made in, repaired as
// the car was, and weighed by every finding: words through the catalogue,
// numbers through the circuit, logs with a correlated error model (replay.go,
// residual.go). Where few carry the weight the lineup is resampled and moved by
// tempered sequential Monte Carlo with steps that keep the target exact (move.go).
// A cause named something-else takes what none foretells (odds.go).
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
// With an effective size below about fifty the figures are rough; Odds says so.
// On logs, answers from different seeds still differ by several hundredths.
// How far the percentages can be trusted is measured in docs/calibration.md.
//
// # Sources
//
// Del Moral, Doucet & Jasra 2006 (sequential Monte Carlo samplers); Cotter,
// Roberts, Stuart & White 2013 (Crank-Nicolson steps); ter Braak 2006
// (differential steps); Holmes & Walker 2017 (power likelihoods); Good 1950
// (weight of evidence). All from memory.
package lineup
