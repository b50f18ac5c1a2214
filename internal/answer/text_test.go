package answer_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/answer"
)

func TestWrapBreaksBetweenWords(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  []string
	}{
		{"", 10, nil},
		{"  \n ", 10, nil},
		{"one", 2, []string{"one"}},
		{"hot hose, cold hose", 9, []string{"hot hose,", "cold hose"}},
		{"to overheating again", 6, []string{"to", "overheating", "again"}},
		{"gone: 95 % of them", 8, []string{"gone:", "95 % of", "them"}},
		{"says % and °C", 4, []string{"says", "%", "and", "°C"}},
		{"90 °C 95 °C", 5, []string{"90 °C", "95 °C"}}, // letters, not bytes
	} {
		if d := cmp.Diff(c.want, answer.Wrap(c.text, c.width)); d != "" {
			t.Errorf("%q in %d letters (-want +got):\n%s", c.text, c.width, d)
		}
	}
}

func TestATimeIsSaidInHoursAndMinutesWhereItIsLong(t *testing.T) {
	for minutes, want := range map[float64]string{0: "0 min", 12.4: "12 min", 90: "90 min", 119.6: "2 h", 120: "2 h", 165: "2 h 45 min", 179.8: "3 h", 599: "9 h 59 min", 620: "10 h", 1100: "18 h"} {
		if got := answer.Time(minutes); got != want {
			t.Errorf("%g minutes: %q, want %q", minutes, got, want)
		}
	}
}
