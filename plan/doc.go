// Package plan finds the next check or repair by its expected cost from now to
// a car that is proven cured.
//
// # Problem
//
// Checks cost minutes, repairs cost more, a wrong big repair most; some need a
// cold engine, some a hot one, some tools that are not at hand. What comes next?
//
// # Model
//
// problem.go states it without cars: weighted hypotheses with up to three
// faults, checks with outcome probabilities, repairs with probabilities of cure,
// costs by the state of the engine, a price for handing the car on. The base
// policy (base.go) repairs in order of probability of cure over cost. The search
// (search.go) looks one check ahead over all checks, further over the likeliest
// to pay, and values what lies beyond by the base policy or, with WithEstimate,
// by what is left to find out: entropy times the cost of a bit. car.go makes a
// lineup's sample such a problem; quote.go weighs another shop's offer.
//
// # Assumptions
//
// The run after a repair shows truly whether everything is cured. A check is
// made once. What a pair of faults shows does not change when one is cured.
// A reading is cut into four ranges.
//
// # Where it stops being true
//
// The estimate is no bound: expected costs are for ranking and come out too high
// or low by tens of per cent. PerfectInformation is a bound.
//
// # Sources
//
// Kadane & Simon 1977, Heckerman, Breese & Rommelse 1995 (probability over
// cost); Pattipati & Alexandridis 1990 (entropy in test sequencing). From memory.
package plan
