// Package say reads what a colleague would say of a car and offers the findings
// that it means.
//
// Problem: a mechanic types "upper hose 185, lower cold, fan never came on". He
// should not have to know that these are hose-temps, fan-run and a dozen other
// words; nor may a guess count before he has confirmed it.
//
// Model: the text is cut into clauses. A clause becomes a set of terms: words are
// stemmed, and phrases that mean the same become one term (phrases.yaml, to which
// a shop can add). Every word of the catalogues has phrases too, from its own
// name and from the same file. A clause and a phrase are compared by the F
// measure of their shared terms, each weighed by how rare it is among all words
// (inverse document frequency; Spärck Jones 1972, J. Documentation 28, 11).
// Negation is a term of its own: it turns a sign into one that is denied. Numbers
// become readings by their unit, or in the shop's units without one.
//
// Assumptions: English, of either side of the Atlantic; one fact a clause, or
// nearly; the same text always gives the same offers.
//
// Where it stops being true: irony, conjecture ("might be the pump") and whose
// word it is are not understood. What is not understood comes back as a remark,
// so that nothing is lost.
package say
