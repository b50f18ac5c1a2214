package trace

import (
	_ "embed" // the names that columns go by
	"fmt"
	"sort"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"weephole/quantity"
)

// signalWords are the names by which --map, JSON and documents call a signal.
var signalWords = [numSignals]string{
	Coolant: "coolant", EngineSpeed: "engine-speed", RoadSpeed: "road-speed", AirFlow: "air-flow",
	ManifoldPressure: "manifold-pressure", IntakeAir: "intake-air", Ambient: "ambient", FanState: "fan",
	Load: "load", Throttle: "throttle", FuelRate: "fuel-rate", Pedal: "pedal", OilTemp: "oil-temp",
	HeadTemp: "head-temp", RunTime: "run-time", Barometer: "barometer", Distance: "distance",
	FanCommand: "fan-command", AirCon: "air-con", Coolant2: "coolant-2", TransmissionTemp: "transmission-temp",
	ShortTrim: "short-trim", LongTrim: "long-trim", Codes: "codes",
}

// String is the signal's word, as used by --map and in JSON.
func (s Signal) String() string {
	if s < numSignals {
		return signalWords[s]
	}
	return fmt.Sprintf("signal(%d)", uint8(s))
}

// MarshalText writes the signal's word, so that maps keyed by Signal read well in JSON.
func (s Signal) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Unit is the SI unit in which a Trace holds the signal.
func (s Signal) Unit() string {
	switch dimensionOf(s) {
	case dimTemperature:
		return "degC"
	case dimRotation:
		return "rev/s"
	case dimSpeed:
		return "m/s"
	case dimMassFlow, dimVolumeFlow:
		return "kg/s"
	case dimPressure:
		return "Pa"
	case dimTime:
		return "s"
	case dimLength:
		return "m"
	case dimCount:
		return "count"
	}
	return "share"
}

// SignalOf finds the signal with the given word.
func SignalOf(word string) (Signal, error) {
	w := strings.ToLower(strings.TrimSpace(word))
	for s, name := range signalWords {
		if w == name {
			return Signal(s), nil
		}
	}
	return 0, fmt.Errorf("%q is no signal; %sthe signals are %s", word, hint(w, signalWords[:]), strings.Join(signalWords[:], ", "))
}

// namesCSV holds the names that columns go by, in several languages.
//
//go:embed names.csv
var namesCSV string

// namePattern is one row of names.csv: every stem must occur in the name.
// A stem with '=' before it must be a whole word of the name.
type namePattern struct {
	signal string // a signal's word, "time", "date", "value", "name", "unit", "row", "not"
	stems  []string
	weight int
}

var namePatterns = sync.OnceValue(func() []namePattern {
	var all []namePattern
	for line := range strings.Lines(namesCSV) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		f := strings.SplitN(line, ",", 3)
		p := namePattern{signal: f[0], stems: strings.Fields(f[2])}
		for _, s := range p.stems {
			p.weight += len([]rune(strings.TrimPrefix(s, "=")))
			if s[0] == '=' {
				p.weight += 3 // a whole word says more than a stem of that length
			}
		}
		all = append(all, p)
	}
	return all
})

// foldName brings a column's name down to plain lower-case words: accents off,
// camelCase split, signs to spaces.
func foldName(s string) string {
	var b strings.Builder
	var last rune
	for _, r := range norm.NFD.String(s) {
		switch {
		case unicode.Is(unicode.Mn, r):
			continue
		case r == 'ß':
			b.WriteString("ss")
		case r == 'ł' || r == 'Ł':
			b.WriteByte('l')
		case r == 'ø' || r == 'Ø':
			b.WriteByte('o')
		case r == 'ı':
			b.WriteByte('i')
		case unicode.IsLetter(r):
			if unicode.IsUpper(r) && unicode.IsLower(last) {
				b.WriteByte(' ')
			}
			b.WriteRune(unicode.ToLower(r))
		case unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
		last = r
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// meaning scores a column's name against every pattern and returns the best
// word for it ("" if none) with its score.
func meaning(name string) (word string, score int) {
	folded := foldName(name)
	if folded == "" {
		return "", 0
	}
	words := strings.Fields(folded)
	// UPPERCASE with underscores splits well; "ENGINECOOLANTTEMP" is found by stems.
	compact := strings.ReplaceAll(folded, " ", "")
	best := map[string]int{}
	penalty := 0
	for _, p := range namePatterns() {
		if !p.matches(words, compact) {
			continue
		}
		if p.signal == "not" {
			penalty += 6
			continue
		}
		best[p.signal] = max(best[p.signal], p.weight)
	}
	keys := make([]string, 0, len(best))
	for k := range best {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	plain := false // "obd.rpm.value" is engine speed, "value" alone is a value
	for _, k := range keys {
		says := isSignalWord(k) || k == "time" || k == "since"
		if says && !plain || says == plain && best[k] > score {
			word, score, plain = k, best[k], says
		}
	}
	if score <= penalty {
		return "", 0
	}
	return word, score - penalty
}

// denied tells whether a name says that the column is something else.
func denied(name string) bool {
	folded := foldName(name)
	words, compact := strings.Fields(folded), strings.ReplaceAll(folded, " ", "")
	for _, p := range namePatterns() {
		if (p.signal == "not" || p.signal == "fan" || p.signal == "fan-command") && p.matches(words, compact) {
			return true
		}
	}
	return false
}

func (p namePattern) matches(words []string, compact string) bool {
	for _, s := range p.stems {
		if s[0] != '=' {
			if !strings.Contains(compact, s) {
				return false
			}
			continue
		}
		found := false
		for _, w := range words {
			if w == s[1:] || (len(w) > len(s)-1 && strings.HasPrefix(w, s[1:]) && isDigits(w[len(s)-1:])) {
				found = true
				break
			}
		}
		if !found {
			return false
		}
	}
	return true
}

func isDigits(s string) bool {
	for _, r := range s {
		if r < '0' || r > '9' {
			return false
		}
	}
	return s != ""
}

// splitUnit takes the unit off a header: "Coolant [°C]", "Speed (km/h)",
// "ECT, °C", "coolant_temp_c", "MAP kPa".
func splitUnit(header string) (name string, u unit) {
	h := strings.TrimSpace(header)
	for _, pair := range []string{"[]", "()", "{}", "<>"} {
		open := strings.LastIndexByte(h, pair[0])
		end := strings.LastIndexByte(h, pair[1])
		if open >= 0 && end > open {
			inner := h[open+1 : end]
			if got, ok := unitOf(inner); ok {
				return strings.TrimSpace(h[:open] + " " + h[end+1:]), got
			}
		}
	}
	// The last word, behind any of the usual separators.
	cut := strings.LastIndexAny(h, " ,_-;.:")
	if strings.HasSuffix(h, "1/min") || strings.HasSuffix(h, "min-1") {
		cut = strings.LastIndexAny(h[:len(h)-5], " ,_-;.:")
	}
	if two := lastWords(h, 2); two > 0 { // maf_g_s, speed_km_h
		if got, ok := unitOf(strings.NewReplacer("_", "/", " ", "/", "-", "/", ".", "/").Replace(h[two:])); ok && strings.Contains(got.name, "/") {
			return strings.Trim(h[:two], " ,_-;.:"), got
		}
	}
	if cut > 0 {
		if got, ok := unitOf(h[cut+1:]); ok && got.name != "g" && got.name != "A" && got.name != "°" {
			return strings.Trim(h[:cut], " ,_-;.:"), got
		}
	}
	return h, unit{}
}

// lastWords is where the last n words of a header begin; 0 if there are no more.
func lastWords(h string, n int) int {
	at := len(h)
	for range n {
		i := strings.LastIndexAny(h[:at], "_ -.")
		if i <= 0 {
			return 0
		}
		at = i
	}
	return at + 1
}

// hint names the word of list that w was most likely meant to be, as the
// beginning of a sentence's tail; "" if none is near.
func hint(w string, list []string) string {
	if n := quantity.Nearest(w, list); n != "" {
		return fmt.Sprintf("did you mean %q? ", n)
	}
	return ""
}
