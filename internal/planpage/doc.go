// Package planpage puts the plan on paper: the tree of the next steps as a drawing
// (SVG), and a bench sheet of one page to print (HTML).
//
// # Problem
//
// Under a car nobody scrolls. The next few steps, with their cautions before them
// and a place to tick what was found, belong on one sheet; the ways that the day
// may take belong in one drawing.
//
// # Model
//
// Both are made from answer.Next, and compute nothing. The tree is drawn from left
// to right, a column of steps and a column of outcomes for each level; the line to an
// outcome is as thick as it is likely, and the number stands beside it. The sheet
// follows the likeliest outcome from step to step, and says at each what the other
// outcomes lead to.
//
// # Where it stops being true
//
// Text is broken by counting letters, not by measuring them, so a line of very wide
// letters may touch its neighbour. A tree deeper than five steps becomes too wide to
// read on one page.
package planpage
