package letter

import (
	"fmt"
	"math"
	"strings"
)

// withArticle puts "a" or "an" before a name that wants one.
func withArticle(name string) string {
	for _, bare := range []string{"a ", "an ", "the ", "no ", "air ", "deposits ", "wrong ", "too ", "something "} {
		if strings.HasPrefix(name, bare) {
			return name
		}
	}
	if name != "" && strings.ContainsRune("aeio", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// count says a share as a count.
func count(p float64, of int) string {
	n := int(math.Round(p * float64(of)))
	switch {
	case n == 0:
		return "fewer than 1"
	case n == of:
		return "more than " + fmt.Sprint(of-1)
	}
	return fmt.Sprint(n)
}

func and(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

func sentence(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = []rune(strings.ToUpper(string(r[0])))[0]
	}
	return string(r)
}

func lower(s string) string {
	r := []rune(s)
	if len(r) > 1 && (r[1] >= 'a' && r[1] <= 'z' || strings.HasPrefix(s, "A ")) {
		r[0] = []rune(strings.ToLower(string(r[0])))[0]
	}
	return string(r)
}
