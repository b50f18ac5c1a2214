package say

import (
	"strings"
	"unicode"
)

// negation is the term of "no", "not" and "never".
const negation = "!"

// number is the term of any number.
const number = "#"

// irregular are words whose stem no rule finds.
var irregular = map[string]string{
	"ran": "run", "came": "come", "went": "go", "gone": "go", "goes": "go", "blew": "blow", "blown": "blow", "lost": "lose", "losing": "lose", "loses": "lose", "loss": "lose",
	"got": "get", "gets": "get", "fell": "fall", "fallen": "fall", "rose": "rise", "risen": "rise", "rises": "rise", "rising": "rise", "broke": "break", "broken": "break",
	"stuck": "stick", "shot": "shoot", "threw": "throw", "thrown": "throw", "kept": "keep", "drove": "drive", "driven": "drive", "driving": "drive", "drives": "drive",
	"did": "do", "does": "do", "done": "do", "hotter": "hot", "colder": "cold", "warmer": "warm", "cooler": "cool", "slower": "slow", "worse": "worse", "felt": "feel",
	"froze": "freeze", "frozen": "freeze", "freezing": "freeze", "swung": "swing", "left": "left", "red": "red", "need": "need", "feed": "feed", "speed": "speed", "bled": "bleed",
	"idling": "idle", "idles": "idle", "idled": "idle", "gauge": "needle", "brought": "bring", "hisses": "hiss", "hissing": "hiss", "seized": "seize", "seizing": "seize",
	"quieter": "quiet", "louder": "loud", "lying": "lie", "tailpipe": "exhaust", "bodies": "body", "chaff": "chaff", "less": "less", "gas": "gas", "gases": "gas", "cars": "car",
	"always": "always", "glass": "glass", "hiss": "hiss", "pressure": "pressure", "bus": "bus", "class": "class", "gear": "gear", "rear": "rear", "during": "during", "nothing": "nothing",
	"thing": "thing", "wiring": "wire", "wires": "wire", "wired": "wire", "bring": "bring", "spring": "spring", "ring": "ring", "something": "thing", "anything": "thing", "everything": "everything",
	"higher": "high", "lower": "lower", "oily": "oil", "dripping": "drip", "steaming": "steam", "torn": "tear", "tore": "tear", "worn": "wear", "wore": "wear", "took": "take", "taken": "take", "froth": "foam",
	"creamy": "cream", "milky": "milk", "smoky": "smoke", "rusty": "rust", "dirty": "dirt", "noisy": "noise", "muddy": "mud", "dusty": "dust", "leaky": "leak", "hardly": "hardly", "climbing": "climb",
	"revved": "rev", "revs": "rev", "towing": "tow", "towed": "tow", "mph": "mph", "ac": "aircon", "a/c": "aircon", "volts": "volt", "voltage": "volt", "won": "won", "rpm": "rpm", "seems": "seem",
}

// stem takes endings off, so that "leaks", "leaked" and "leaking" are one term.
func stem(w string) string {
	if s, ok := irregular[w]; ok {
		return s
	}
	n := len(w)
	undouble := func(s string) string {
		if k := len(s); k > 3 && s[k-1] == s[k-2] && s[k-1] != 'l' && s[k-1] != 's' {
			return s[:k-1]
		}
		return s
	}
	switch {
	case n > 5 && strings.HasSuffix(w, "ing"):
		w = strings.TrimSuffix(undouble(w[:n-3]), "e")
	case n > 4 && strings.HasSuffix(w, "ied"):
		w = w[:n-3] + "y"
	case n > 4 && strings.HasSuffix(w, "ed"):
		w = strings.TrimSuffix(undouble(w[:n-2]), "e")
	case n > 4 && strings.HasSuffix(w, "ies"):
		w = w[:n-3] + "y"
	case n > 4 && (strings.HasSuffix(w, "ches") || strings.HasSuffix(w, "shes") || strings.HasSuffix(w, "sses") || strings.HasSuffix(w, "xes")):
		w = w[:n-2]
	case n > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") && !strings.HasSuffix(w, "us") && !strings.HasSuffix(w, "is"):
		w = w[:n-1]
	}
	if len(w) > 4 && strings.HasSuffix(w, "ly") {
		w = w[:len(w)-2]
	}
	if len(w) > 3 {
		w = strings.TrimSuffix(w, "e")
	}
	return w
}

// words cuts a text into small words; numbers stay whole, signs fall away.
func words(text string) []string {
	text = strings.NewReplacer("’", "'", "n't", " not", "N'T", " not", "cannot", "can not", "Cannot", "can not", "won't", "will not", "can't", "can not", "°", " ").Replace(text)
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '/' && r != '.' && r != ',' || r == ','
	})
}

// stops are words that tell nothing by themselves.
var stops = stemmed(`the a an is it its it's my i i'm was were been be are am has had have to of on in at that this
	then so very just and or but with when after also there here they them he she we you your our his her will would
	as for from by into up down out off over under some any all too still now do can could did may might
	s t re ve d ll bit get seem really quite right way back again even though although because while if about which who
	c f say says said tell told show reads reading found notice noticed there's day days next whole one thing engine car truck vehicle system its fairly pretty much more most only`)

// stemmed is a set of stems.
func stemmed(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[stem(w)] = true
	}
	return out
}

func set(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[w] = true
	}
	return out
}

// negations are words that deny.
var negations = set("no not never none without nothing neither nor nobody nowhere")

func isNumber(w string) bool { return w != "" && (w[0] >= '0' && w[0] <= '9') }

// degrees are words that only make another one stronger or weaker.
var degrees = set("very really quite extremely rather awfully pretty fairly completely totally absolutely somewhat")

// raw are the stems of a text before phrases become terms.
func raw(text string) []string {
	var out []string
	for _, w := range words(text) {
		w = strings.Trim(w, ".'/")
		switch {
		case w == "" || degrees[w]:
		case negations[w]:
			out = append(out, negation)
		case isNumber(w):
			out = append(out, number)
		default:
			out = append(out, stem(w))
		}
	}
	return out
}
