package chart_test

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"weephole/internal/chart"
)

func ranges() chart.Ranges {
	return chart.Ranges{
		Title: "Up to which outside air", Axis: chart.Axis{Label: "°C", Min: -20, Max: 60},
		Names: []string{"as it is", "after the repair"}, Mark: 38, MarkName: "the day, 38 °C",
		Rows: []chart.RangeRow{
			{Label: "idling, air conditioning", Spans: []chart.RangeSpan{{Low: -40, Middle: 3, High: 20}, {Low: 45, Middle: 70, High: 90}}},
			{Label: "town", Spans: []chart.RangeSpan{{Low: 10, Middle: 25, High: 41}, {Low: 50, Middle: 60, High: 60}}},
			{Label: "motorway & <more>", Spans: []chart.RangeSpan{{Low: 30, Middle: 44, High: 60}, {Low: math.NaN(), Middle: 1, High: 2}}},
		},
	}
}

func TestRangesStayAsTheyWere(t *testing.T) {
	golden(t, "ranges.svg", ranges().SVG())
	golden(t, "ranges.txt", ranges().Text(chart.Terminal{Width: 80}))
}

// Any numbers give a drawing that is XML and text that keeps to its width.
func TestAnyRangesCanBeDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-60, 120), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)))
		r := ranges()
		r.Rows = nil
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			row := chart.RangeRow{Label: rapid.StringN(0, 20, -1).Draw(t, "label")}
			for range rapid.IntRange(0, 3).Draw(t, "spans") {
				low, middle, high := any.Draw(t, "low"), any.Draw(t, "middle"), any.Draw(t, "high")
				row.Spans = append(row.Spans, chart.RangeSpan{Low: low, Middle: middle, High: high})
			}
			r.Rows = append(r.Rows, row)
		}
		width := rapid.IntRange(20, 120).Draw(t, "width")
		for line := range strings.Lines(r.Text(chart.Terminal{Width: width})) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > max(width, 60) {
				t.Fatalf("a line of %d characters in a terminal of %d: %q", n, width, line)
			}
		}
		d := xml.NewDecoder(strings.NewReader(r.SVG()))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("not XML: %v", err)
			}
		}
	})
}
