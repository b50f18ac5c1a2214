package quantity

import "strings"

// Nearest returns the word of words that word was most likely meant to be, or "" when
// none is near. It counts the letters changed, added, dropped or swapped: at most a third
// of its length, and always at least one. Case is ignored; the first of equals wins.
func Nearest(word string, words []string) string {
	target := []rune(strings.ToLower(strings.TrimSpace(word)))
	if len(target) == 0 {
		return ""
	}
	best, bestDistance := "", max(1, len(target)/3)+1
	for _, w := range words {
		if d := editDistance(target, []rune(strings.ToLower(w))); d < bestDistance {
			best, bestDistance = w, d
		}
	}
	return best
}

// Slip finds the word of a list that differs by one slip of the fingers, two in
// words of eight letters and more; "" for none.
func Slip(word string, words []string) string {
	target := []rune(strings.ToLower(strings.TrimSpace(word)))
	most := 1
	if len(target) >= 8 {
		most = 2
	}
	best, bestDistance := "", most+1
	for _, w := range words {
		if d := editDistance(target, []rune(strings.ToLower(w))); len(target) > 3 && d < bestDistance {
			best, bestDistance = w, d
		}
	}
	return best
}

// editDistance counts single-letter edits and swaps of neighbours (optimal string
// alignment; Damerau 1964, Levenshtein 1966).
func editDistance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
