package sheet

import (
	"sort"
	"strings"
)

// fewWords is up to how many words an error lists them all.
const fewWords = 14

// Instead ends a message about a word that is not one of the right ones: it
// names the nearest, or all of them when they are few.
func Instead(word string, right []string) string {
	right = append([]string(nil), right...)
	sort.Strings(right)
	if near := nearest(word, right); near != "" {
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

// nearest is the word with the smallest edit distance, if that is small
// against the word's length.
func nearest(word string, right []string) string {
	best, least := "", len(word)/3+2
	for _, w := range right {
		if d := distance(strings.ToLower(word), w); d < least {
			best, least = w, d
		}
	}
	return best
}

// distance is the number of single-letter edits between two words
// (Levenshtein 1966).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			next := min(row[j+1]+1, row[j]+1, diagonal+cost)
			diagonal, row[j+1] = row[j+1], next
		}
	}
	return row[len(b)]
}
