package letter

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
)

//go:embed letter.html
var page string

var pageTemplate = template.Must(template.New("letter").Funcs(template.FuncMap{
	// The chart escapes whatever text it is given (package chart).
	"picture": func(s Section) template.HTML { return template.HTML(s.Chart.SVG()) },
}).Parse(page))

// HTML writes the letter as a page of its own, without anything from elsewhere.
func (l *Letter) HTML(w io.Writer) error {
	if err := pageTemplate.Execute(w, l); err != nil {
		return fmt.Errorf("letter: %w", err)
	}
	return nil
}
