// Package answer says what a lineup and a plan have found: in the shapes that
// programs read (JSON) and in the sentences that a mechanic does.
//
// The prompt and the bench both speak through it, so that they never disagree.
// It computes nothing of its own but counts: frequencies come before
// percentages ("187 of 200"), out of a round number no larger than the lineup's
// effective size, because more digits would not be known.
package answer
