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
		{"", 0, false}, {"before I bought it", 0, false}, {"at 60,000 miles", 0, false}, {"recently", 0, false},
	} {
		if days, known := ageInDays(test.text); days != test.days || known != test.known {
			t.Errorf("%q: %g days, known %v; want %g, %v", test.text, days, known, test.days, test.known)
		}
	}
}
