package work

import (
	"regexp"
	"strconv"
	"strings"
)

// agePattern finds "2 weeks ago", "a month ago", "six years", "last week".
var agePattern = regexp.MustCompile(`(?i)\b(\d+(?:[.,]\d+)?|an?|one|two|three|four|five|six|seven|eight|nine|ten|twelve|half an?|a couple of|a few|some|several|last|this|the)\s+(weekend|day|week|month|year|summer|winter|spring|autumn)(s?)( before)?\b`)

// wayPattern finds "about 2,000 km ago", "500 miles ago".
var wayPattern = regexp.MustCompile(`(?i)\b(\d{1,3}(?:[,.]\d{3})+|\d+)\s*(km|kilomet(?:re|er)s?|mi|miles?)\b`)

// countWords are the numbers that people write out; "last" and "this" mean about
// one of what follows, "a few" three, "some" and "several" four.
var countWords = map[string]float64{
	"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
	"ten": 10, "twelve": 12, "half a": 0.5, "half an": 0.5, "a couple of": 2, "a few": 3, "some": 4, "several": 4,
	"last": 1, "this": 0.5, "the": 1,
}

// daysOf are the days in what people count by; a season back is half a year or so.
var daysOf = map[string]float64{
	"day": 1, "weekend": 4, "week": 7, "month": 30, "year": 365, "summer": 180, "winter": 180, "spring": 180, "autumn": 180,
}

// sameTime are words for work that the trouble followed at once.
var sameTime = regexp.MustCompile(`(?i)\b(today|this morning|just (now|done|before|finished)|(the )?same (day|visit|week))\b`)

// ageInDays reads how long ago work was done from what the job says of it, in
// days; not known where the text gives no span of time and no way driven since.
func ageInDays(text string, kmADay float64) (days float64, known bool) {
	lower := strings.ToLower(text)
	switch {
	case strings.Contains(lower, "yesterday"):
		return 1, true
	case sameTime.MatchString(lower):
		return 0, true
	}
	if m := wayPattern.FindStringSubmatch(lower); m != nil && strings.Contains(lower, "ago") {
		way, err := strconv.ParseFloat(strings.NewReplacer(",", "", ".", "").Replace(m[1]), 64)
		if err != nil {
			return 0, false
		}
		if strings.HasPrefix(m[2], "mi") {
			way *= 1.609344 // exact since 1959
		}
		return way / kmADay, true
	}
	m := agePattern.FindStringSubmatch(lower)
	if m == nil || m[1] == "the" && (m[3] != "" || m[4] == "") {
		return 0, false // "the weeks" and "the winter" are no time ago
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
