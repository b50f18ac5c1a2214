// Package sheet reads data files that people write and correct by hand: YAML in which
// each number stands beside its source (Sourced, Range).
//
// # Problem
//
// Whoever mistypes a word in a data file wants to be told which file, which line, which
// field, what was found there and what to write instead. He wants all the mistakes of a
// file at once, not the first.
//
// # Model
//
// The file is parsed to a tree that keeps its line numbers, and the tree is
// walked into Go structs by their `sheet` tags. A key that no field has is a
// problem, and so is a missing key that the tag calls required, a number where a
// word belongs, or a key written twice. Decoding into a value that is already
// filled changes only the keys that the sheet names: that is how a shop's sheet
// overlays the built-in one. Slices of structs with a field "id" are merged by
// id; all other slices are replaced.
//
// # Where it stops
//
// One document per file; no anchors, aliases, tags or merge keys: a sheet is
// meant to be read from top to bottom.
package sheet
