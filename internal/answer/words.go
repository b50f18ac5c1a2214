package answer

import (
	"fmt"
	"strings"
)

// Article puts "a" or "an" before a name that wants one.
func Article(name string) string {
	if name == "" {
		return name
	}
	for _, s := range []string{"a ", "an ", "the ", "no ", "too ", "air ", "something ", "deposits ", "wrong ", "nothing"} {
		if strings.HasPrefix(name, s) {
			return name
		}
	}
	if strings.ContainsRune("aeio", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// And lists words: "a, b and c".
func And(list []string) string { return listed(list, " and ") }

// Or lists words: "a, b or c".
func Or(list []string) string { return listed(list, " or ") }

func listed(list []string, last string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + last + list[len(list)-1]
}

// Sentence begins a text with a capital letter.
func Sentence(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = []rune(strings.ToUpper(string(r[0])))[0]
	}
	return string(r)
}

// Lower begins a text with a small letter, unless it begins with a short form in
// capitals.
func Lower(s string) string {
	r := []rune(s)
	if len(r) > 1 && (r[1] >= 'a' && r[1] <= 'z' || strings.HasPrefix(s, "A ")) {
		r[0] = []rune(strings.ToLower(string(r[0])))[0]
	}
	return string(r)
}

func spaced(id string) string { return strings.ReplaceAll(id, "-", " ") }

// Thousands writes 20000 as "20,000".
func Thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
