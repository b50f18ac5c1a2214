package sheet

import (
	"sort"
	"strings"

	"weephole/quantity"
)

// fewWords is up to how many words an error lists them all.
const fewWords = 14

// Instead ends a message about a word that is not one of the right ones: it
// names the nearest, or all of them when they are few.
func Instead(word string, right []string) string {
	right = append([]string(nil), right...)
	sort.Strings(right)
	if near := quantity.Nearest(word, right); near != "" {
		return "; did you mean \"" + near + "\"?"
	}
	if len(right) == 0 {
		return ""
	}
	if len(right) <= fewWords {
		return "; write one of: " + strings.Join(right, ", ")
	}
	return "; the known words are listed in docs/catalogue.md"
}
