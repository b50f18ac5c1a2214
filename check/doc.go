// Package check is the catalogue of what a mechanic can do to learn more, of
// the complaint's signs, and of what each would show.
//
// # Problem
//
// A finding weighs in so far as the causes would have shown it with different
// probability. So for every check the catalogue must say, for any candidate,
// how probable each of its results is: with its false alarms and its misses,
// and with the human ones (the wrong scale, the shiny hose, the look that was
// not really taken).
//
// # Model
//
// What a check shows comes from one of two places. Where the circuit's physics predicts
// it (hose temperatures, pressure after a cold start), a reading or a word depends on an
// observable of the candidate's own simulated run. A reading is normal around it. A word
// becomes probable as the observable passes a threshold, softly. Where physics cannot
// tell (a chemical test, the look of a plug), a table gives the probability of each word
// by cause, site, hidden state and severity.
//
// For two causes at once, alarms combine by noisy-or: with h the probability
// that a healthy engine raises no alarm and r1, r2 the same for each cause
// alone, no alarm is raised with probability h*(r1/h)*(r2/h), each factor at
// most 1 (Pearl 1988, section 4.3.2, with a leak).
//
// Every check has a blunder share b: P = (1-b)*P(model) + b*P(random). Random
// is even over the words, or over the plausible range of a reading, unless the
// check names the word that a careless look ends in.
//
// The remainder that the catalogue does not name may do anything to the circuit, so
// what the circuit shows is even over the results. A look at a part finds what it
// finds on a sound car, unless the check has a row for the remainder.
//
// Checks that need flow are spoiled by low coolant and air: on such a candidate
// a tabulated one has the larger blunder share `low-coolant`.
//
// # Where it stops being true
//
// No sensitivity of a garage cooling check has been published: the tables are
// judgement, stated as such, and a shop's overlay may replace them. Results of
// different checks are taken as independent given the candidate; what they
// share (a crack that is shut just now) is in the candidate's hidden states,
// and repeats of one check count with the share `repeat`. Blunders of two
// readings in one check are independent, which real ones are not.
//
// # Sources
//
// Beside each number in checks.yaml and signs.yaml.
package check
