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
