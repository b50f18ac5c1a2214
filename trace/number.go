package trace

import (
	"bytes"
	"strconv"
	"strings"
)

// pow10 serves the fast path of parseNumber.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// plainNumber reads digits with at most one decimal mark. It is exact because
// up to 15 digits and powers of ten to 1e15 are exact in a float64, and one
// division rounds once.
func plainNumber(b []byte, mark byte) (float64, bool) {
	if len(b) == 0 || len(b) > 16 {
		return 0, false
	}
	i, neg := 0, false
	if b[0] == '-' || b[0] == '+' {
		neg = b[0] == '-'
		i++
	}
	var mant uint64
	digits, frac, seen := 0, 0, false
	for ; i < len(b); i++ {
		c := b[i]
		switch {
		case c >= '0' && c <= '9':
			mant = mant*10 + uint64(c-'0')
			digits++
			if seen {
				frac++
			}
		case c == mark && !seen:
			seen = true
		default:
			return 0, false
		}
	}
	if digits == 0 || digits > 15 {
		return 0, false
	}
	x := float64(mant) / pow10[frac]
	if neg {
		x = -x
	}
	return x, true
}

// cellKind is what a cell turned out to hold.
type cellKind uint8

const (
	cellNumber cellKind = iota
	cellMissing
	cellText
)

// words that loggers write where a number is missing, and words for on and off.
var (
	missingWords = map[string]bool{
		"": true, "-": true, "--": true, "---": true, "?": true, "na": true, "n/a": true, "#n/a": true, "nan": true,
		"null": true, "none": true, "nil": true, "nodata": true, "no data": true, "#div/0!": true, "#value!": true,
		"inf": true, "-inf": true, "∞": true, "error": true, "unable": true, "\\n": true, "not available": true, "*": true,
	}
	switchWords = map[string]float64{
		"on": 1, "off": 0, "true": 1, "false": 0, "yes": 1, "no": 0, "ein": 1, "aus": 0, "an": 1, "ja": 1, "nein": 0,
		"oui": 1, "non": 0, "marche": 1, "arret": 0, "si": 1, "sí": 1, "encendido": 1, "apagado": 0, "acceso": 1, "spento": 0,
		"high": 1, "low": 0.5, "aan": 1, "uit": 0, "вкл": 1, "выкл": 0, "active": 1, "inactive": 0, "open": 1, "closed": 0,
	}
)

// readCell reads one cell of any kind: "82", "1,5", "1.250,5", "82 °C", "OFF".
// mark is the decimal mark of the file; the other one groups thousands.
func readCell(b []byte, mark byte) (x float64, suffix string, kind cellKind) {
	if x, ok := plainNumber(b, mark); ok {
		return x, "", cellNumber
	}
	b = bytes.TrimSpace(b)
	if len(b) == 0 {
		return 0, "", cellMissing
	}
	if x, ok := plainNumber(b, mark); ok {
		return x, "", cellNumber
	}
	s := decodeText(b)
	low := strings.ToLower(s)
	if missingWords[low] {
		return 0, "", cellMissing
	}
	if v, ok := switchWords[low]; ok {
		return v, "on/off", cellNumber
	}
	// A number in front, a unit behind.
	end := numberEnd(s, mark)
	if end == 0 {
		return 0, "", cellText
	}
	num, rest := s[:end], strings.TrimSpace(s[end:])
	group := byte(',')
	if mark == ',' {
		group = '.'
	}
	num = strings.ReplaceAll(num, string(rune(group)), "")
	num = strings.ReplaceAll(num, " ", "")
	if mark == ',' {
		num = strings.Replace(num, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(num, 64)
	if err != nil || v != v || v > 1e300 || v < -1e300 {
		return 0, "", cellText
	}
	if rest == "" {
		return v, "", cellNumber
	}
	if _, ok := unitOf(rest); ok {
		return v, rest, cellNumber
	}
	return 0, "", cellText
}

// numberEnd is the length of the number that s begins with.
func numberEnd(s string, mark byte) int {
	i, digits := 0, 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	for i < len(s) {
		c := s[i]
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == mark, c == '.', c == ',':
			if i+1 >= len(s) && c != mark {
				return 0
			}
		case (c == 'e' || c == 'E') && digits > 0 && i+1 < len(s) && (s[i+1] == '-' || s[i+1] == '+' || s[i+1] >= '0' && s[i+1] <= '9'):
			i++
		default:
			if digits == 0 {
				return 0
			}
			return i
		}
		i++
	}
	if digits == 0 {
		return 0
	}
	return i
}

// decimalMark weighs the sample: a comma that is not followed by exactly three
// digits at a cell's end can only be a decimal mark, and so for the point. A
// cell with both decides at once: the last one is the mark.
func decimalMark(rows [][][]byte) byte {
	comma, point, commaThree, pointThree := 0, 0, 0, 0
	for _, r := range rows {
		for _, c := range r {
			c = bytes.TrimSpace(c)
			i, j := bytes.LastIndexByte(c, ','), bytes.LastIndexByte(c, '.')
			if (i < 0 && j < 0) || bytes.IndexByte(c, ':') >= 0 || len(c) == 0 || c[len(c)-1] > '9' || (c[0] > '9' && c[0] != '-') {
				continue
			}
			if bytes.Count(c, []byte{'.'}) == 2 && i < 0 { // a date such as 06.07.2017
				continue
			}
			switch {
			case i >= 0 && j >= 0:
				if i > j {
					comma += 3
				} else {
					point += 3
				}
			case i >= 0 && len(c)-i-1 == 3 && i <= 3+1 && bytes.Count(c, []byte{','}) >= 1 && c[0] != '0':
				commaThree++
			case i >= 0:
				comma++
			case len(c)-j-1 == 3 && j <= 3+1 && c[0] != '0':
				pointThree++
			default:
				point++
			}
		}
	}
	switch {
	case comma > point:
		return ','
	case point > comma:
		return '.'
	case commaThree > pointThree && pointThree == 0 && commaThree > 0 && point == 0:
		// "1,250" alone could be either; engine speed with grouped thousands is
		// the common case, and no logger writes exactly three decimals everywhere.
		return '.'
	}
	return '.'
}
