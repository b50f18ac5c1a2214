package work

import (
	"regexp"
	"strconv"
	"strings"
)

// agePattern finds "2 weeks ago", "a month ago", "six years", "last week".
var agePattern = regexp.MustCompile(`(?i)\b(\d+(?:[.,]\d+)?|an?|one|two|three|four|five|six|seven|eight|nine|ten|twelve|half an?|a couple of|a few|last|this)\s+(day|week|month|year|summer|winter|spring|autumn)s?\b`)

// countWords are the numbers that people write out; "last" and "this" mean about
// one of what follows, and "a few" three.
var countWords = map[string]float64{
	"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
	"ten": 10, "twelve": 12, "half a": 0.5, "half an": 0.5, "a couple of": 2, "a few": 3, "last": 1, "this": 0.5,
}

// daysOf are the days in what people count by; a season back is half a year or so.
var daysOf = map[string]float64{
	"day": 1, "week": 7, "month": 30, "year": 365, "summer": 180, "winter": 180, "spring": 180, "autumn": 180,
}

// ageInDays reads how long ago work was done from what the job says of it, in
// days; not known where the text gives no span of time.
func ageInDays(text string) (days float64, known bool) {
	lower := strings.ToLower(text)
	switch {
	case strings.Contains(lower, "yesterday"):
		return 1, true
	case strings.Contains(lower, "today"), strings.Contains(lower, "this morning"), strings.Contains(lower, "just now"):
		return 0, true
	}
	m := agePattern.FindStringSubmatch(lower)
	if m == nil {
		return 0, false
	}
	n, ok := countWords[m[1]]
	if !ok {
		v, err := strconv.ParseFloat(strings.ReplaceAll(m[1], ",", "."), 64)
		if err != nil {
			return 0, false
		}
		n = v
	}
	return n * daysOf[m[2]], true
}
