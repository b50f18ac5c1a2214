package cause

import (
	"reflect"
	"strings"
	"unicode"

	"weephole/circuit"
)

// target is a circuit number that an act changes, found once at load.
type target struct {
	field int // index of the field in circuit.Circuit
	kind  targetKind
}

type targetKind uint8

const (
	targetNone targetKind = iota
	targetNumber
	targetFlag
)

func (t target) number(c *circuit.Circuit) *float64 {
	if t.kind != targetNumber {
		return nil
	}
	return reflect.ValueOf(c).Elem().Field(t.field).Addr().Interface().(*float64)
}

func (t target) flag(c *circuit.Circuit) *bool {
	if t.kind != targetFlag {
		return nil
	}
	return reflect.ValueOf(c).Elem().Field(t.field).Addr().Interface().(*bool)
}

// findTarget resolves the kebab-case name of a circuit's number or flag.
func findTarget(name string) (target, bool) {
	t := reflect.TypeFor[circuit.Circuit]()
	for i := range t.NumField() {
		f := t.Field(i)
		if kebab(f.Name) != name {
			continue
		}
		switch f.Type.Kind() {
		case reflect.Float64:
			return target{i, targetNumber}, true
		case reflect.Bool:
			return target{i, targetFlag}, true
		}
	}
	return target{}, false
}

// targetNames are all the names that findTarget knows.
func targetNames() []string {
	var names []string
	t := reflect.TypeFor[circuit.Circuit]()
	for i := range t.NumField() {
		if k := t.Field(i).Type.Kind(); k == reflect.Float64 || k == reflect.Bool {
			names = append(names, kebab(t.Field(i).Name))
		}
	}
	return names
}

// kebab turns a Go field name into its name in data files: "FanOnC" is
// "fan-on-c", "RadiatorUA" is "radiator-ua".
func kebab(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		if unicode.IsUpper(r) && i > 0 {
			before := unicode.IsLower(runes[i-1])
			inside := i+1 < len(runes) && unicode.IsLower(runes[i+1])
			if before || inside {
				b.WriteByte('-')
			}
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}
