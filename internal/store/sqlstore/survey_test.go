package sqlstore

import (
	"maps"
	"testing"
)

func TestTwoSurveysDifferInRowsOrInSums(t *testing.T) {
	here := Survey{"settings": {1, "aa"}, "jobs": {2, "bb"}, "files": {3, "cc"}}
	for _, c := range []struct {
		name   string
		change func(Survey)
		want   string
	}{
		{"the same", func(Survey) {}, ""},
		{"a row that is missing", func(s Survey) { s["files"] = TableSum{2, "dd"} }, "files (3 and 2 rows)"},
		{"a row that is not the same", func(s Survey) { s["jobs"] = TableSum{2, "dd"} }, "jobs (2 and 2 rows)"},
		{"the first of two tables is named", func(s Survey) { s["files"], s["settings"] = TableSum{}, TableSum{} }, "settings (1 and 0 rows)"},
		{"a table that an older schema lacks", func(s Survey) { delete(s, "files") }, ""},
	} {
		there := maps.Clone(here)
		c.change(there)
		if got := here.Differs(there); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// A checksum over rows in any order must still tell each value and each row's columns.
func TestARowsChecksumTellsItsValuesApart(t *testing.T) {
	text := func(s string) any { return &s }
	number := func(n int64) any { return &n }
	bytes := func(b string) any { v := []byte(b); return &v }
	seen := map[[32]byte]int{}
	for i, row := range [][]any{
		{text("ab"), text("c")}, {text("a"), text("bc")}, {text("abc"), text("")}, {text("ab"), number(1)}, {text("ab"), number(2)}, {text("ab"), bytes("c\x00")},
	} {
		sum := checksum(row)
		if before, is := seen[sum]; is {
			t.Errorf("rows %d and %d have one checksum", before, i)
		}
		seen[sum] = i
	}
}
