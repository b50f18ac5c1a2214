package job_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"weephole/internal/job"
)

// A megabyte of unknown keys, written in any way, is refused before it is parsed:
// the YAML library took minutes and gigabytes for it. What is counted is memory,
// which does not depend on the machine's speed.
func TestAMegabyteOfUnknownKeysIsRefusedBeforeItIsParsed(t *testing.T) {
	const size, most = 1<<20 - 100, 8 << 20 // bytes: the source some times over
	for _, c := range []struct{ name, begin, one, end string }{
		{"YAML", "weephole: 1\n", "k%d: 1\n", ""},
		{"JSON", `{"weephole":1`, `,"k%d":1`, "}"},
		{"braces of YAML", "{weephole: 1", ", k%d: 1", "}"},
		{"a list", "findings:\n", "- k%d\n", ""},
		{"keys within a table", "vehicle:\n", "  k%d: 1\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b strings.Builder
			b.WriteString(c.begin)
			for i := 0; b.Len() < size; i++ {
				fmt.Fprintf(&b, c.one, i)
			}
			b.WriteString(c.end)
			r := testing.Benchmark(func(tb *testing.B) {
				for range tb.N {
					_, err := job.Read(strings.NewReader(b.String()), "", job.DefaultVocabulary())
					var ps job.Problems
					if !errors.As(err, &ps) || len(ps) > 21 {
						t.Fatalf("%d problems: %v", len(ps), err)
					}
				}
			})
			if got := r.AllocedBytesPerOp(); got > most {
				t.Errorf("%d bytes were allocated, more than %d", got, most)
			}
		})
	}
}
