package trace

import (
	"strings"
	"time"
)

// timeKind is how a log tells time.
type timeKind uint8

const (
	timeNone    timeKind = iota
	timeNumber           // a count of some unit, elapsed or since an epoch
	timeClock            // hours and minutes, perhaps a date before it
	timeMinutes          // minutes and seconds only: what a spreadsheet shows of a clock
	timeDate             // a date alone
)

func (k timeKind) String() string {
	return [...]string{"none", "number", "clock", "minutes and seconds", "date"}[k]
}

// stamp is one reading of a clock.
type stamp struct {
	day    int64   // days since 1970-01-01; 0 without a date
	second float64 // s within the day (or the hour for timeMinutes)
	kind   timeKind
	dated  bool
}

// months by their first letters in the languages that loggers print them in.
var months = map[string]int{
	"jan": 1, "ene": 1, "gen": 1, "feb": 2, "fev": 2, "fév": 2, "mar": 3, "mär": 3, "mrz": 3, "maa": 3, "mrt": 3, "apr": 4, "abr": 4, "avr": 4, "may": 5, "mai": 5, "mag": 5, "mei": 5, "maj": 5,
	"jun": 6, "giu": 6, "jul": 7, "lug": 7, "aug": 8, "ago": 8, "aoû": 8, "aou": 8, "sep": 9, "set": 9, "oct": 10, "okt": 10, "ott": 10, "out": 10, "nov": 11, "dec": 12, "dez": 12, "dic": 12, "déc": 12,
}

// readClock reads one clock cell; dayFirst decides 03/04/2020.
func readClock(b []byte, dayFirst bool) (stamp, bool) {
	if s, rest, ok := hms(b); ok && len(rest) == 0 {
		return s, true
	}
	text := strings.ToLower(strings.TrimSpace(decodeText(b)))
	if len(text) < 6 || len(text) > 64 || text[0] == '-' {
		return stamp{}, false
	}
	// 2017-07-06t08:37:58z: the t between digits is a blank.
	if i := strings.IndexByte(text, 't'); i > 0 && i+1 < len(text) && digit(text[i-1]) && digit(text[i+1]) {
		text = text[:i] + " " + text[i+1:]
	}
	var c clockCell
	for tok := range strings.FieldsSeq(strings.NewReplacer(", ", " ", "(", " ", ")", " ").Replace(text)) {
		if !c.take(tok) {
			return stamp{}, false
		}
	}
	return c.stamp(dayFirst)
}

// clockCell collects what the words of a clock cell say, from left to right.
type clockCell struct {
	time     stamp
	hasClock bool
	date     []int // year, month and day in the cell's order
	month    int   // where it stands as a word
}

// take reads one word; false where it belongs to no clock.
func (c *clockCell) take(tok string) bool {
	switch {
	case strings.HasPrefix(tok, "gmt"), strings.HasPrefix(tok, "utc"), tok == "z", tok == "cet", tok == "cest", tok == "o'clock":
		return true
	case (tok[0] == '+' || tok[0] == '-') && c.hasClock:
		return true // an offset from UTC
	case tok == "pm" || tok == "p.m." || tok == "am" || tok == "a.m.":
		return c.halfOfDay(tok[0] == 'p')
	case strings.IndexByte(tok, ':') >= 0:
		return c.clock(tok)
	case !c.hasClock && (len(c.date) == 3 || len(c.date) == 2 && c.month > 0):
		s, ok := dotted([]byte(tok)) // 06.07.2017 08.37.58
		if ok {
			c.time.second, c.time.kind, c.hasClock = s.second, s.kind, true
		}
		return ok
	}
	return addDate(tok, &c.date, &c.month)
}

// halfOfDay takes "am" or "pm" that follows the clock as a word of its own.
func (c *clockCell) halfOfDay(afternoon bool) bool {
	h := int(c.time.second) / 3600
	switch {
	case !c.hasClock:
		return false
	case afternoon && h < 12:
		c.time.second += 12 * 3600
	case !afternoon && h == 12:
		c.time.second -= 12 * 3600
	}
	return true
}

// clock takes a word with colons.
func (c *clockCell) clock(tok string) bool {
	if c.hasClock {
		return false
	}
	// A date may be glued to the clock: 06/jul/2017:08:37:58.
	if i := strings.IndexByte(tok, ':'); strings.IndexByte(tok[:i], '/') >= 0 {
		if !addDate(tok[:i], &c.date, &c.month) {
			return false
		}
		tok = tok[i+1:]
	}
	s, rest, ok := hms([]byte(tok))
	if !ok {
		return false
	}
	switch r := string(rest); {
	case r == "", r == "z", r[0] == '+', r[0] == '-':
	case r == "pm" && s.second < 12*3600:
		s.second += 12 * 3600
	case r == "am" && s.second >= 12*3600:
		s.second -= 12 * 3600
	case r == "am", r == "pm":
	default:
		return false
	}
	c.time.second, c.time.kind, c.hasClock = s.second, s.kind, true
	return true
}

// stamp is the whole cell; false where it holds neither clock nor date.
func (c *clockCell) stamp(dayFirst bool) (stamp, bool) {
	if len(c.date) == 0 && c.month == 0 {
		return c.time, c.hasClock
	}
	y, m, d, ok := ymd(c.date, c.month, dayFirst)
	if !ok {
		return stamp{}, false
	}
	c.time.day = time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix() / 86400
	c.time.dated = true
	if !c.hasClock {
		c.time.kind = timeDate
	}
	return c.time, true
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// addDate collects the numbers and the month of one token of a date.
func addDate(tok string, date *[]int, month *int) bool {
	for part := range strings.FieldsFuncSeq(tok, func(r rune) bool { return r == '-' || r == '/' || r == '.' || r == ',' }) {
		if digit(part[0]) {
			n, i := 0, 0
			for i < len(part) && digit(part[i]) {
				n = n*10 + int(part[i]-'0')
				if i++; i > 8 {
					return false
				}
			}
			if i == 8 && len(part) == 8 { // 20170706
				*date = append(*date, n/10000, n/100%100, n%100)
				continue
			}
			*date = append(*date, n)
			continue
		}
		r := []rune(part)
		if len(r) < 2 {
			return false
		}
		if m, ok := months[string(r[:min(3, len(r))])]; ok && *month == 0 {
			*month = m
			continue
		}
		if !weekdays[string(r[:2])] {
			return false
		}
	}
	return len(*date) <= 3
}

var weekdays = map[string]bool{"mo": true, "tu": true, "we": true, "th": true, "fr": true, "sa": true, "su": true, "di": true, "mi": true, "do": true, "so": true, "lu": true, "ma": true, "me": true, "je": true, "ve": true, "ju": true, "vi": true, "sá": true}

// ymd sorts the numbers of a date out.
func ymd(n []int, month int, dayFirst bool) (y, m, d int, ok bool) {
	switch {
	case month > 0 && len(n) == 2:
		m = month
		if n[0] > 31 {
			y, d = n[0], n[1]
		} else {
			d, y = n[0], n[1]
		}
	case len(n) == 3 && n[0] > 31:
		y, m, d = n[0], n[1], n[2]
	case len(n) == 3:
		y = n[2]
		if m, d = n[0], n[1]; m > 12 || (dayFirst && d <= 12) {
			m, d = d, m
		}
	default:
		return 0, 0, 0, false
	}
	if y < 100 {
		y += 2000
	}
	return y, m, d, y >= 1970 && y < 2200 && m >= 1 && m <= 12 && d >= 1 && d <= 31
}

// hms reads 8:37:58.298, 08:37, 37:58.3, 08:37:58,298 and 08:37:58:298 from the
// front of b and returns what is left.
func hms(b []byte) (s stamp, rest []byte, ok bool) {
	var part [4]float64
	n, i := 0, 0
	for n < 4 {
		from, x := i, 0.0
		for i < len(b) && digit(b[i]) {
			x = x*10 + float64(b[i]-'0')
			i++
		}
		if i == from || i-from > 6 {
			return s, nil, false
		}
		part[n] = x
		n++
		if n == 4 {
			part[3] = x / pow10[min(i-from, 15)]
			break
		}
		if i < len(b) && b[i] == ':' {
			i++
			continue
		}
		break
	}
	frac, hasFrac := 0.0, false
	if n < 4 && n >= 2 && i < len(b) && (b[i] == '.' || b[i] == ',') {
		from := i + 1
		x := 0.0
		for i = from; i < len(b) && digit(b[i]); i++ {
			if i-from < 15 {
				x = x*10 + float64(b[i]-'0')
			}
		}
		frac, hasFrac = x/pow10[min(i-from, 15)], true
	}
	switch n {
	case 4:
		s.second = part[0]*3600 + part[1]*60 + part[2] + part[3]
	case 3:
		s.second = part[0]*3600 + part[1]*60 + part[2] + frac
	case 2:
		if hasFrac { // only minutes and seconds have a fraction behind two numbers
			s.second, s.kind = part[0]*60+part[1]+frac, timeMinutes
			return s, b[i:], part[1] < 60
		}
		s.second = part[0]*3600 + part[1]*60
	default:
		return s, nil, false
	}
	s.kind = timeClock
	return s, b[i:], part[1] < 60 && (n < 3 || part[2] < 61)
}
