// Package letter writes the account that the owner gets: one or two pages, in
// HTML and PDF, and a few lines for a text message.
//
// Problem: an owner who pays for a repair has a right to know, in plain words,
// what was wrong, how that is known, what it was not, and what to watch.
// Model: a letter is a title and sections of paragraphs, lists, one table and a
// chart; Write makes them from the job and from what lineup and proof say of it,
// and HTML, PDF and Short only set them.
// Assumptions: everything comes from the job. What the job does not say is not
// written, or written as not known. Numbers are counts ("187 of 200 engines"),
// never bare percentages.
// Where it stops being true: the words are English. The PDF has real text,
// embedded fonts, a language, a title and an outline, but no tags of structure:
// the library that writes it has none. The HTML is the accessible one.
// Sources: the fonts are DejaVu Sans and DejaVu Sans Bold, whose licence lies
// beside them.
package letter
