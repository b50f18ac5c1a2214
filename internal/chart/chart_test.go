package chart_test

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weephole/internal/chart"
)

var update = flag.Bool("update", false, "rewrite golden files")

// sample is a made-up warm-up with everything that a plot can hold.
func sample() chart.Plot {
	p := chart.Plot{Title: "Coolant & <fan>", X: chart.Axis{Label: "minutes"}, Y: chart.Axis{Label: "coolant, °C"}}
	var x, y, low, high []float64
	for i := range 120 {
		t := float64(i) / 6
		c := 20 + 72*(1-math.Exp(-t/5))
		if i == 60 {
			c = math.NaN()
		}
		x, y, low, high = append(x, t), append(y, c), append(low, c-6), append(high, c+4)
	}
	p.Lines = []chart.Curve{{Name: "coolant", X: x, Y: y, Accent: true}, {Name: "model", X: x, Y: low, Dash: true}}
	p.Bands = []chart.Band{{Name: "pump weak, middle 80 %", X: x, Low: low, High: high}}
	p.Dots = []chart.Points{{Name: "hose", X: []float64{5, 10}, Y: []float64{60, 80}, Low: []float64{57, 77}, High: []float64{63, 83}}}
	p.Spans = []chart.Span{{From: 15, To: 17, Label: "fan"}}
	p.Marks = []chart.Mark{{X: 0, Y: 20, Label: "start"}, {X: 12, Y: 85, Label: "opens, 85 °C"}, {X: 12.5, Y: math.NaN(), Label: "door shut"}}
	return p
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s changed (-want +got):\n%s", path, d)
	}
}

func TestPicturesStayAsTheyWere(t *testing.T) {
	golden(t, "plot.svg", sample().SVG())
	golden(t, "plot.txt", sample().Text(chart.Terminal{Width: 72, Height: 18}))
	bars := chart.Bars{Title: "Odds", Format: "%.0f %%", Max: 100, Items: []chart.Bar{{Label: "thermostat shut", Value: 62, Low: 50, High: 74}, {Label: "pump weak", Value: 7.5, Note: "no sign of it"}, {Label: "unknown", Value: math.NaN()}}}
	golden(t, "bars.svg", bars.SVG())
	golden(t, "bars.txt", bars.Text(chart.Terminal{Width: 60}))
}

// wellFormed reads a picture as XML and returns its title and description.
func wellFormed(svg string) (title, desc string, err error) {
	d := xml.NewDecoder(strings.NewReader(svg))
	var path []string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return title, desc, nil
		}
		if err != nil {
			return "", "", err
		}
		switch e := tok.(type) {
		case xml.StartElement:
			path = append(path, e.Name.Local)
		case xml.EndElement:
			path = path[:len(path)-1]
		case xml.CharData:
			switch strings.Join(path, "/") {
			case "svg/title":
				title += string(e)
			case "svg/desc":
				desc += string(e)
			}
		}
	}
}

func TestEveryPictureIsWellFormedAndHasANameAndADescription(t *testing.T) {
	for name, svg := range map[string]string{
		"plot": sample().SVG(), "empty": chart.Plot{Title: "nothing"}.SVG(),
		"bars": chart.Bars{Title: "odds", Items: []chart.Bar{{Label: "a<b", Value: 1}}}.SVG(),
	} {
		title, desc, err := wellFormed(svg)
		if err != nil || title == "" || desc == "" {
			t.Errorf("%s: title %q, description %q, error %v", name, title, desc, err)
		}
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: a number that is none stands in the picture", name)
		}
		for _, colour := range []string{"red", "#0f0", "green"} {
			if strings.Contains(svg, `"`+colour) {
				t.Errorf("%s: colour %s tells something", name, colour)
			}
		}
	}
}

// A mark near the right edge has its label to the left, where others may begin.
func TestLabelsOfMarksDoNotLieOnOneAnother(t *testing.T) {
	label := regexp.MustCompile(`<text x="([0-9.]+)" y="([0-9.]+)" text-anchor="(start|end)">(start, hot, 187 °F|climbs to 263 °F|holds 246 °F)<`)
	p := chart.Plot{Width: 300, Height: 200, Lettering: 12, Lines: []chart.Curve{{X: []float64{0, 8}, Y: []float64{180, 260}}},
		Marks: []chart.Mark{{X: 0, Y: 180, Label: "start, hot, 187 °F"}, {X: 0, Y: 245, Label: "holds 246 °F"}, {X: 8, Y: 260, Label: "climbs to 263 °F"}}}
	type span struct{ from, to float64 }
	rows, n := map[string][]span{}, 0
	for _, m := range label.FindAllStringSubmatch(p.SVG(), -1) {
		x, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		long := 0.55 * 12 * float64(utf8.RuneCountInString(m[4])) // a glyph of the drawing's letters is about 0.55 of their height
		s := span{x, x + long}
		if m[3] == "end" {
			s = span{x - long, x}
		}
		for _, o := range rows[m[2]] {
			if o.from < s.to && s.from < o.to {
				t.Errorf("%q lies on another label of its row", m[4])
			}
		}
		rows[m[2]] = append(rows[m[2]], s)
		n++
	}
	if n != 3 {
		t.Fatalf("%d labels, want 3", n)
	}
}

func TestAnyDataCanBeDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0}))
		xs := rapid.SliceOfN(value, 0, 40).Draw(t, "x")
		ys := rapid.SliceOfN(value, 0, 40).Draw(t, "y")
		p := chart.Plot{Title: rapid.StringMatching(`[a-z<&"\x01é]*`).Draw(t, "title"), Diagonal: true, Lines: []chart.Curve{{Name: "l", X: xs, Y: ys}}, Bands: []chart.Band{{X: xs, Low: ys, High: ys}}, Dots: []chart.Points{{X: xs, Y: ys, Low: ys, High: ys}}}
		for i := range min(len(xs), len(ys), 8) {
			p.Marks = append(p.Marks, chart.Mark{X: xs[i], Y: ys[i], Label: "m"})
		}
		svg := p.SVG()
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Fatalf("a number that is none stands in the picture:\n%s", svg)
		}
		if _, _, err := wellFormed(svg); err != nil {
			t.Fatalf("%v in %s", err, svg)
		}
		width := rapid.IntRange(24, 120).Draw(t, "width")
		p.Title, p.Marks = "", nil
		for line := range strings.Lines(p.Text(chart.Terminal{Width: width, Height: 12})) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width+8 {
				t.Fatalf("a line of %d characters in a width of %d: %q", n, width, line)
			}
		}
	})
}

func TestNothingIsColouredUnlessAskedFor(t *testing.T) {
	if s := sample().Text(chart.Terminal{Width: 72}); strings.Contains(s, "\x1b") {
		t.Error("an escape sequence without colour")
	}
	if s := sample().Text(chart.Terminal{Width: 72, Color: true}); !strings.Contains(s, "\x1b[1m") {
		t.Error("no bold line with colour")
	}
}

func TestAPeakOfOneRowSurvivesThinning(t *testing.T) {
	x, y := make([]float64, 50000), make([]float64, 50000)
	for i := range x {
		x[i], y[i] = float64(i), 90
	}
	y[31234] = 120
	p := chart.Plot{Title: "peak", Y: chart.Axis{Min: 0, Max: 200}, Lines: []chart.Curve{{X: x, Y: y}}}
	svg := p.SVG()
	// 120 of 0..200 over the height from 340-44 to 34: 296 - 262*0.6 = 138.8.
	if !strings.Contains(svg, " 138.8") {
		t.Error("the peak is gone: no point at 138.8")
	}
	if len(svg) > 60000 {
		t.Errorf("%d bytes for a thinned line", len(svg))
	}
}

// Names at the right end are moved apart at every size of the lettering.
func TestNamesAreMovedApartAtEverySizeOfLettering(t *testing.T) {
	for _, size := range []float64{0, 9, 13, 14, 17.3} {
		p := chart.Plot{Width: 358, Height: 260, Lettering: size}
		for i := range 5 {
			p.Lines = append(p.Lines, chart.Curve{Name: fmt.Sprint("line ", i), X: []float64{0, 1}, Y: []float64{1, 1}})
		}
		if svg := p.SVG(); !strings.Contains(svg, "line 4") {
			t.Errorf("lettering of %g: a name is missing", size)
		}
	}
}
