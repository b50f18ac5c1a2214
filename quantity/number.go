package quantity

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// longestText bounds what is read as one quantity, in bytes.
const longestText = 80

var (
	fractionForm = regexp.MustCompile(`^([+-]?) ?(?:(\d{1,6}) +)?(\d{1,4})/(\d{1,4})`)
	decimalForm  = regexp.MustCompile(`^([+-]?) ?(\d[\d.,']*(?: \d{3}(?:[.,]\d+)?\b)*|[.,]\d+)([eE][+-]?\d{1,3})?`)
	groupedForm  = regexp.MustCompile(`^\d{1,3}(?:[ ']\d{3})+(?:[.,]\d*)?$`)
	thousandForm = regexp.MustCompile(`^[1-9]\d{0,2}[.,]\d{3}$`)
)

var typed = strings.NewReplacer(
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\t", " ", // spaces
	"−", "-", "–", "-", "’", "'", // minus signs and apostrophes
	"℃", "°C", "℉", "°F", "½", " 1/2", "¼", " 1/4", "¾", " 3/4",
)

// tidy makes the many ways of typing spaces and signs one.
func tidy(text string) string { return strings.TrimSpace(typed.Replace(text)) }

// readNumber takes the number at the head of tidied text. thousands says how to read
// "1,500" and "1.500": as one and a half thousand (money), or, when false, with the dot as a
// decimal point and the comma refused because it may mean either.
func readNumber(text string, thousands bool) (value float64, rest string, problem string) {
	if m := fractionForm.FindStringSubmatch(text); m != nil {
		return fraction(m, text[len(m[0]):])
	}
	m := decimalForm.FindStringSubmatch(text)
	if m == nil {
		if strings.ContainsAny(text, "0123456789") {
			return 0, text, "has something before its number"
		}
		return 0, text, "is not a number"
	}
	rest = strings.TrimSpace(text[len(m[0]):])
	digits, problem := plainDigits(m[2], thousands)
	if problem != "" {
		return 0, rest, problem
	}
	value, err := strconv.ParseFloat(m[1]+digits+m[3], 64)
	if err != nil {
		return 0, rest, "holds a number too large to mean anything"
	}
	return value, rest, ""
}

func fraction(m []string, rest string) (float64, string, string) {
	whole, _ := strconv.ParseFloat("0"+m[2], 64)
	over, _ := strconv.ParseFloat(m[3], 64)
	under, _ := strconv.ParseFloat(m[4], 64)
	rest = strings.TrimSpace(rest)
	if under == 0 {
		return 0, rest, "divides by zero"
	}
	value := whole + over/under
	if m[1] == "-" {
		value = -value
	}
	return value, rest, ""
}

// plainDigits turns the body of a number into what strconv reads.
func plainDigits(body string, thousands bool) (digits, problem string) {
	if groupedForm.MatchString(body) {
		body = strings.NewReplacer(" ", "", "'", "").Replace(body)
		return strings.Replace(body, ",", ".", 1), ""
	}
	if strings.ContainsAny(body, " '") {
		return "", "holds more than one number"
	}
	dots, commas := strings.Count(body, "."), strings.Count(body, ",")
	switch {
	case dots > 0 && commas > 0: // the later one is the decimal sign
		group, point := ",", "."
		if strings.LastIndex(body, ",") > strings.LastIndex(body, ".") {
			group, point = ".", ","
		}
		if strings.Count(body, point) > 1 {
			return "", "holds a number with two decimal signs"
		}
		return strings.Replace(strings.ReplaceAll(body, group, ""), point, ".", 1), ""
	case dots > 1 || commas > 1:
		sign := body[strings.IndexAny(body, ".,")]
		for i, group := range strings.Split(body, string(sign)) {
			if i > 0 && len(group) != 3 {
				return "", "holds a number with two decimal signs"
			}
		}
		return strings.ReplaceAll(body, string(sign), ""), ""
	case thousandForm.MatchString(body) && thousands:
		return strings.NewReplacer(",", "", ".", "").Replace(body), ""
	case thousandForm.MatchString(body) && commas == 1:
		whole, part, _ := strings.Cut(body, ",")
		return "", fmt.Sprintf("can be read two ways; write %s%s or %s.%s", whole, part, whole, part)
	}
	return strings.Replace(body, ",", ".", 1), ""
}

// normaliseUnit brings the spellings of a unit together: "deg. F", "° f" and "F" become "f".
func normaliseUnit(text string) string {
	s := strings.ToLower(strings.TrimSpace(text))
	s = strings.ReplaceAll(s, " per ", "/")
	s = strings.NewReplacer(" ", "", ".", "", "°", "", "º", "", "˚", "", "²", "2", "³", "3", "^", "").Replace(s)
	for _, word := range []string{"degrees", "degree", "degs", "deg"} {
		if rest, ok := strings.CutPrefix(s, word); ok {
			return rest
		}
	}
	return s
}
