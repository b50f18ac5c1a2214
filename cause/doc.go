// Package cause is the catalogue of what may be wrong with a cooling circuit,
// and of the repairs.
//
// # Problem
//
// A mechanic knows a few dozen things that make an engine run hot, run cold or lose its
// coolant. To weigh them against what was seen, a program has to know some things of
// each. How common is it before anything was seen, and how bad does it tend to be? What
// does it do to the circuit, what does it drag along, and what does putting it right
// take?
//
// # Model
//
// A cause acts on the numbers of a circuit.Circuit, and that is all it does. How strongly
// is one number, the severity s in 0..1, drawn from a Beta distribution: an act names its
// value at s = 0 (mild) and at s = 1 (severe), and between them it is linear, or linear
// in the logarithm. Some causes have a hidden state as well, such as a crack that opens
// only hot, or a fan that is dead because its relay is. Acts and checks may depend on it.
// A leak has a site.
//
// How common a cause is, is given in pseudo-cases: a weight of 3.0 counts like
// three closed jobs. Adding a shop's own closed jobs to the weights is the
// posterior mean of a Dirichlet distribution.
//
// A repair cures a cause with a probability, takes minutes and parts, can be
// botched, and can itself leave something behind (air in the system).
//
// # Where the knowledge stands
//
// In causes.yaml, repairs.yaml and shop.yaml, not in Go. Every number there has
// a source beside it; "judgement" is a source, and the honest one for most. A
// shop adds to the catalogue, or changes its numbers, with a file of its own
// (see Catalogue.Overlay and docs/catalogue.md).
//
// # Where it stops being true
//
// Severities of two causes are drawn independently. Acts of two causes on the
// same number are applied one after the other in catalogue order. Weights are
// for cars that come in with any cooling complaint at an independent shop; no
// published frequencies with a traceable method exist (a search found none), so
// they are judgement informed by roadside statistics.
//
// # Sources
//
// Named in the data files beside each number.
package cause
