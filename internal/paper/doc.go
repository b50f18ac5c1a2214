// Package paper sets what is printed or handed over: the owner's letter (HTML, PDF
// and a few lines for a text message), the repair sheet, the bench sheet of the
// next steps (HTML), and the plan as a drawing (SVG).
//
// # Problem
//
// An owner who pays for a repair has a right to know, in plain words, what was
// wrong, how that is known, what it was not, and what to watch. A mechanic under a
// car does not scroll: cautions, steps and places to write in belong on one sheet.
//
// # Model
//
// Every page is made from a job (package work) and its answers (package answer),
// and computes nothing about the car. All pages share one style (style.css) and the
// fonts of the PDF. The bench sheet follows the likeliest result from step to step,
// and says at each what the other results lead to. In the drawing, the line to a
// result is as thick as it is likely.
//
// # Assumptions
//
// What the job does not say is not written, or written as not known.
//
// # Where it stops being true
//
// The words are English. The PDF has real text, embedded fonts, a language, a title
// and an outline, but no structure tags: the library that writes it has none. The
// HTML is the accessible one. In the drawing and on the bench sheet, text is broken
// by counting letters, so a line of very wide letters may touch its neighbour. A tree
// deeper than five steps is too wide to read on one page.
//
// # Sources
//
// The fonts are DejaVu Sans and DejaVu Sans Bold; their licence lies beside them.
package paper
