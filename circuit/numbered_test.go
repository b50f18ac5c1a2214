package circuit_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var (
	numbered = regexp.MustCompile(`\((\d+)[;)]`)
	cited    = regexp.MustCompile(`[Ee]quations? (\(\d+\)(?:(?:,| and| to) \(\d+\))*)`)
	second   = regexp.MustCompile(`coefficient is (\(\d+\))`)
)

// TestEachNumberedEquationStandsInTheCode: docs/model.md numbers the equations from 1
// without a gap, and each number is named once or more beside code.
func TestEachNumberedEquationStandsInTheCode(t *testing.T) {
	page, err := os.ReadFile("../docs/model.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(page), "## States")
	text, _, _ = strings.Cut(text, "## Integration")
	last := 0
	for _, m := range numbered.FindAllStringSubmatch(text, -1) {
		if n, _ := strconv.Atoi(m[1]); n == last+1 {
			last = n
		}
	}
	if last < 20 {
		t.Fatalf("docs/model.md numbers its equations up to %d without a gap; there were 20", last)
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	named := make(map[int]bool)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		code := strings.ReplaceAll(string(src), "\n// ", " ")
		for _, m := range append(cited.FindAllStringSubmatch(code, -1), second.FindAllStringSubmatch(code, -1)...) {
			numbers := numbered.FindAllStringSubmatch(m[1], -1)
			from := 0
			for _, x := range numbers {
				n, _ := strconv.Atoi(x[1])
				if strings.Contains(m[1], " to ") && from > 0 {
					for k := from; k < n; k++ {
						named[k] = true
					}
				}
				named[n], from = true, n
			}
		}
	}
	for n := 1; n <= last; n++ {
		if !named[n] {
			t.Errorf("equation (%d) of docs/model.md is named beside no code", n)
		}
	}
	for n := range named {
		if n > last {
			t.Errorf("the code names equation (%d); docs/model.md ends at (%d)", n, last)
		}
	}
}
