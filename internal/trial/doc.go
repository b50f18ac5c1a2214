// Package trial measures the program on simulated cars: whether its
// percentages mean what they say, and what its plans cost.
//
// # Problem
//
// "80 %" is worth something only if, of all the times it is said, four in five
// are right. That cannot be seen on the cars of the program's own lineup, which
// fit its beliefs by construction; it has to be measured on cars that do not.
//
// # Model
//
// Cars come from a world that is wider than the lineup and different from it
// (world.yaml). Its numbers spread further, and shift together in ways that the circuit's
// table does not know. Parts are worn and uneven, sensors drift, severities lie towards
// the ends. There are pairs of causes, and faults that the catalogue does not have. An
// owner tells what he noticed, some more and some less. A mechanic makes the checks: his
// thermometers have their own errors, each of his checks is a little keener or blinder
// than the catalogue has it, he misjudges the air outside, and he blunders.
//
// Each car is worked from its complaint on as the program tells the mechanic: checks in the
// order of the visit to the engine, what was found bad put right along with the next
// repair, and the plan made again after each result. For
// comparison it is worked by simpler ways: a fixed textbook order, repairs by
// probability over cost alone, information per cost, and somebody who knows what
// is wrong. All of them meet the same car, the same answers and the same luck
// with repairs: every random number belongs to the car and to what is done, not
// to who does it.
//
// Cars are of a few kinds of vehicle and weather (Spec), and all that are of one
// kind are weighed against one bank of engines, drawn and run once. That makes
// a thousand cars possible in minutes; what is told of a car is its kind's, what
// is true of it is its own.
//
// # Assumptions
//
// The run after a repair tells truthfully whether the car is cured; its time is
// paid. Costs are the catalogue's typical ones. Cars come in the proportions of
// the catalogue's weights, which it defines as shares of the cars that come in
// with a complaint: a car whose owner notices nothing is drawn again with the
// same causes.
//
// # Where it stops being true
//
// The world uses the same circuit equations and the same table of what checks
// show as the lineup, bent but not replaced: what both leave out is not
// measured here. Logged runs are not used; a check that can give one is answered
// in words or readings. Lineups are not resampled and moved, so after many
// findings they are poorer than a real job's. Costs include what handing a car
// on is taken to cost, a judgement that the comparison depends on.
//
// # Sources
//
// Wilson 1927 for the intervals of shares; Efron 1979 for the bootstrap;
// Brier 1950; Good 1952 for the log score; Naeini, Cooper & Hauskrecht 2015 for
// the expected calibration error. All from memory.
package trial
