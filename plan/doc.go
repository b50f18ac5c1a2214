// Package plan finds the next check or repair for a car by its expected cost from
// now to a car that is proven cured.
//
// # Problem
//
// Checks cost minutes, repairs cost more, and a wrong big repair costs most. Some
// checks need a cold engine, some a hot one, some need tools that the shop lacks.
// Some repairs cost so much that they may not rest on odds alone. What comes next?
//
// # Model
//
// car.go turns a sample of the lineup into a problem that package plan/solve answers:
// engines become hypotheses, and labour, parts, waits and lost trust become costs.
// outcomes.go gives the probability of each result of each check. ready.go prices the way
// from one engine state to the next. direct.go says which repairs need their cause shown
// first. quote.go weighs another shop's offer, and ask.go the questions to the owner.
// together.go finds the repairs worth doing at the same time. round.go finds the checks
// worth making in the same visit to the engine, and again.go the doubtful ones worth
// repeating. excluded.go says what goes with a car that is referred. never.go says what
// no cost buys off. The numbers are in the YAML files beside them.
//
// # Assumptions
//
// Those of plan/solve. A reading is cut into four ranges.
//
// # Where it stops being true
//
// Where plan/solve stops. Two repairs in one drain are charged twice.
//
// # Sources
//
// See plan/solve; each number of the data files names its own.
package plan
