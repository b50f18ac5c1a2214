package sheetwork

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"weephole/quantity"
)

//go:embed sheet.html
var page string

var pageTemplate = template.Must(template.New("sheet").Parse(page))

// Heading says whose sheet it is.
type Heading struct {
	Shop string
	Car  string
	Job  string
}

// HTML writes the sheets of a job as one page to be printed and laid beside the
// work: places to write in, boxes to tick, nothing from elsewhere.
func HTML(w io.Writer, h Heading, sheets []*Sheet, u quantity.Units, currency string) error {
	type one struct{ Parts []Section }
	data := struct {
		Heading
		Sheets []one
	}{Heading: h}
	for _, s := range sheets {
		data.Sheets = append(data.Sheets, one{s.Sections(u, currency)})
	}
	if err := pageTemplate.Execute(w, data); err != nil {
		return fmt.Errorf("repair sheet: %w", err)
	}
	return nil
}
