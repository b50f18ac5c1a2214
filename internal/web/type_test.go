package web_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The type has four sizes that mean something, beside the root's own: what decides, what
// is to be done or read off, what is told, and what stands under it. The drawing has
// readings, names and scales, at two sizes of the sheet.
func TestTheTypeHasFewSizesThatMeanSomething(t *testing.T) {
	sizes := regexp.MustCompile(`font(?:-size)?:[^;}]*?([0-9.]+(?:px|rem|em|pt|%)|var\(--[a-z]+\))`)
	for file, may := range map[string][]string{
		"assets/sheet.css":    {"var(--big)", "var(--mid)", "1rem", "var(--small)", "16px", "17px", "11pt"},
		"drawing/circuit.css": {"20px", "18px", "15px", "14px", "13px", "12.5px"},
	} {
		css, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		found := sizes.FindAllStringSubmatch(string(css), -1)
		if len(found) < len(may) {
			t.Errorf("%s: only %d sizes were found", file, len(found))
		}
		for _, m := range found {
			if !slices.Contains(may, m[1]) {
				t.Errorf("%s: %s is no size of the scale", file, strings.TrimSpace(m[0]))
			}
		}
	}
}
