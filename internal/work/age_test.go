package work

import "testing"

func TestHowLongAgoIsReadFromPlainWords(t *testing.T) {
	for _, test := range []struct {
		text  string
		days  float64
		known bool
	}{
		{"3 days ago", 3, true}, {"three days ago", 3, true}, {"2 weeks ago", 14, true}, {"a month ago", 30, true},
		{"six years ago", 2190, true}, {"about 6 years", 2190, true}, {"last week", 7, true}, {"half a year ago", 182.5, true},
		{"a few months back", 90, true}, {"yesterday", 1, true}, {"this morning", 0, true}, {"1.5 years ago", 547.5, true},
		{"about 2,000 km ago", 40, true}, {"500 km ago", 10, true}, {"1,000 miles ago", 32.18688, true},
		{"some months ago", 120, true}, {"the winter before", 180, true}, {"the day before", 1, true},
		{"the same day", 0, true}, {"just done", 0, true}, {"last weekend", 4, true}, {"the weeks at sea", 0, false},
		{"", 0, false}, {"before I bought it", 0, false}, {"at 60,000 miles", 0, false}, {"recently", 0, false},
	} {
		if days, known := ageInDays(test.text, 50); days != test.days || known != test.known {
			t.Errorf("%q: %g days, known %v; want %g, %v", test.text, days, known, test.days, test.known)
		}
	}
}
