package trace

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
)

// mapping is ReadOptions.Map, read.
type mapping struct {
	of    map[string]target // by signal word, "time" and "ignore"
	flags bool              // as in ReadOptions
}

// said is how an entry of the mapping is spoken of.
func (m mapping) said(word, column string) string {
	if m.flags {
		return fmt.Sprintf("--map %s=%s", word, column)
	}
	return fmt.Sprintf("the column %q, given for %s", column, word)
}

// either is the advice with flags where they are at hand, else the plain one.
func (m mapping) either(flags, plain string) string {
	if m.flags {
		return flags
	}
	return plain
}

// target is one column of a mapping: "Temp 1", "#3" or "Temp 1@F".
type target struct {
	column string
	unit   string
}

const unknownColumn = -2

func readMapping(m map[string]string, flags bool) (mapping, error) {
	out := mapping{of: map[string]target{}, flags: flags}
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		word := strings.ToLower(strings.TrimSpace(k))
		if word != "time" && word != "ignore" {
			if _, err := SignalOf(word); err != nil {
				return out, fmt.Errorf("%s: %w; time and ignore are words too", out.said(k, m[k]), err)
			}
		}
		t := target{column: strings.TrimSpace(m[k])}
		if i := strings.LastIndexByte(t.column, '@'); i >= 0 {
			if _, ok := unitOf(t.column[i+1:]); ok {
				t.column, t.unit = strings.TrimSpace(t.column[:i]), t.column[i+1:]
			} else {
				return out, fmt.Errorf("%s: %q is no unit that is read; write for example °C, °F, km/h, mph, kPa, psi, inHg, g/s, rpm, s or ms", out.said(k, m[k]), t.column[i+1:])
			}
		}
		if t.column == "" {
			return out, fmt.Errorf("%s: a column's name or #number is wanted%s", out.said(k, m[k]), out.either(" behind the equals sign", ""))
		}
		out.of[word] = t
	}
	return out, nil
}

// names tells whether the mapping speaks of a column by this name.
func (m mapping) names(column string) bool {
	for _, t := range m.of {
		if sameName(t.column, column) {
			return true
		}
	}
	return false
}

func sameName(a, b string) bool {
	if strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) {
		return true
	}
	name, _ := splitUnit(b)
	return foldName(a) == foldName(b) || foldName(a) == foldName(name)
}

// column finds the column that the mapping gives to a word: -1 if it says
// nothing, unknownColumn if there is none by that name.
func (m mapping) column(word string, l *layout) int {
	t, ok := m.of[word]
	if !ok {
		return -1
	}
	return findColumn(t.column, l.header, l.count)
}

func findColumn(want string, names []string, count int) int {
	if n, err := strconv.Atoi(strings.TrimPrefix(want, "#")); err == nil && strings.HasPrefix(want, "#") {
		if n >= 1 && n <= max(count, len(names)) {
			return n - 1
		}
		return unknownColumn
	}
	for i, h := range names {
		if sameName(want, h) {
			return i
		}
	}
	return unknownColumn
}
