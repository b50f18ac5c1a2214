package quantity

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

var clockForm = regexp.MustCompile(`^(\d{1,4}):(\d{2})(?::(\d{2}))?(.*)$`)

// ParseDuration reads a duration: "10 min", "1h 20min", "1h20", "90 s", "1:02:03", "0:12 h".
// "12:30" alone is refused: it may be minutes and seconds or hours and minutes.
func ParseDuration(text string) (Duration, error) {
	s := tidy(text)
	if len(text) > longestText {
		_, err := parse(&durationUnits, text)
		return 0, err
	}
	if m := clockForm.FindStringSubmatch(s); m != nil {
		return clock(text, m)
	}
	total, rest, parts := 0.0, s, 0
	for last := (unit{mul: durationUnits.highest}); ; parts++ {
		number, after, problem := readNumber(rest, false)
		if problem != "" {
			_, err := parse(&durationUnits, rest) // words it
			return 0, retext(err, text)
		}
		end := strings.IndexAny(after, "0123456789")
		if end < 0 {
			end = len(after)
		}
		unitText := strings.TrimRight(strings.TrimSuffix(strings.TrimRight(after[:end], " ,"), " and"), " ,")
		word := normaliseUnit(unitText)
		u, ok := durationUnits.byWord(word)
		if !ok && word == "" && parts > 0 && last.symbol == "h" && end == len(after) {
			u, ok = durationUnits.byWord("min") // "1h20"
		}
		if !ok {
			return 0, durationUnits.unknownUnit(text, rest[:len(rest)-len(after)]+unitText, unitText, word)
		}
		if u.mul/u.div >= last.mul || (parts > 0 && number < 0) {
			return 0, &ParseError{durationUnits.name, text, "has its parts out of order", `the large before the small, such as "1 h 20 min"`}
		}
		total += u.toSI(number)
		last = u
		if rest = strings.TrimLeft(after[end:], ", "); rest == "" {
			break
		}
	}
	if !(total >= durationUnits.lowest && total <= durationUnits.highest) {
		return 0, &ParseError{durationUnits.name, text, "cannot be: " + durationUnits.why, ""}
	}
	return Duration(total), nil
}

// clock reads "1:02:03", "0:12 h" and "12:30 min".
func clock(text string, m []string) (Duration, error) {
	var v [3]float64
	for i := range v {
		v[i], _ = strconv.ParseFloat("0"+m[i+1], 64)
	}
	fail := func(problem, instead string) (Duration, error) {
		return 0, &ParseError{durationUnits.name, text, problem, instead}
	}
	if v[1] >= 60 || v[2] >= 60 {
		return fail("has 60 or more after a colon", `"1 h 20 min"`)
	}
	u, known := durationUnits.byWord(normaliseUnit(m[4]))
	switch {
	case m[3] != "" && (strings.TrimSpace(m[4]) == "" || known && u.symbol == "h"):
		return Duration(v[0]*3600 + v[1]*60 + v[2]), nil
	case m[3] == "" && known && u.symbol == "h":
		return Duration(v[0]*3600 + v[1]*60), nil
	case m[3] == "" && known && u.symbol == "min":
		return Duration(v[0]*60 + v[1]), nil
	case m[3] == "" && strings.TrimSpace(m[4]) == "":
		return fail("may be hours and minutes or minutes and seconds",
			fmt.Sprintf("%q or %q", m[1]+" h "+m[2]+" min", m[1]+" min "+m[2]+" s"))
	}
	return fail("is not a time span", `"1 h 20 min"`)
}

// retext makes an error about a part speak of the whole text.
func retext(err error, text string) error {
	if e, ok := err.(*ParseError); ok {
		whole := *e
		whole.Text = text
		return &whole
	}
	return err
}
