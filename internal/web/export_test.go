package web

// WithoutPlace is withoutPlace, for fuzzing.
var WithoutPlace = withoutPlace

// Cell is a text as a table for a spreadsheet has it.
func Cell(text string) string { return cell(text) }
