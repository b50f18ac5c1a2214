// Package answer puts what a job's lineup, plan and proof have found into words,
// and into the shapes that programs read as JSON.
//
// Problem: the prompt, the bench and the printed pages must say the same thing,
// and a page must be able to leave a part out without reading sentences.
// Model: package work answers with facts. Each function here turns such facts into
// an answer whose sentences are typed lines (Line); what the reader should doubt
// comes as warnings. All English about a diagnosis is made here. Probabilities are
// said as per cent, rounded to what the simulated engines can tell (Precision).
// A type whose name ends in Facts holds what the type of that name in another
// package has found, as it is printed and sent: OddsFacts those of a lineup.Odds.
//
// Assumptions: the catalogues' names are phrases that fit into a sentence after
// "a" or without an article.
// Where it stops being true: the sentences are English only.
// Sources: the words for strength of evidence follow Jeffreys, Theory of
// Probability, appendix B (from memory).
package answer
