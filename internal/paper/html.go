package paper

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"weephole/internal/answer"
)

//go:embed style.css
var style string

//go:embed letter.html
var letterHTML string

//go:embed repair.html
var repairHTML string

//go:embed bench.html
var benchHTML string

var (
	letterPage = page("letter", letterHTML)
	repairPage = page("repair sheet", repairHTML)
	benchPage  = page("bench sheet", benchHTML)
)

func page(name, text string) *template.Template {
	return template.Must(template.New(name).Funcs(template.FuncMap{
		"style": func() template.CSS { return template.CSS(style) },
		// The chart escapes whatever text it is given (package chart).
		"picture": func(s Section) template.HTML { return template.HTML(s.Chart.SVG()) },
		"time":    answer.Time,
		"picked":  func(l *Logo, shop string) shownLogo { return shownLogo{l, logoSays(shop)} },
	}).Parse(text + logoHTML))
}

// shownLogo is a logo with what stands for it where no picture can be seen.
type shownLogo struct {
	*Logo
	Says string
}

// logoHTML is the logo at the head of a page.
const logoHTML = `{{define "logo"}}<img class="logo" src="{{.Source}}" width="{{.Width}}" height="{{.Height}}" alt="{{.Says}}">
{{end}}`

func set(w io.Writer, p *template.Template, data any) error {
	if err := p.Execute(w, data); err != nil {
		return fmt.Errorf("%s: %w", p.Name(), err)
	}
	return nil
}
