package cause

import (
	"slices"

	"weephole/circuit"
)

// target is what an act changes in a circuit: a number or a yes-or-no.
type target struct {
	name string
	flag func(*circuit.Circuit) *bool // nil for a number
}

// flags are the circuit's fields that are not numbers and that a cause can set:
// 1 is yes, 0 is no.
var flags = map[string]func(*circuit.Circuit) *bool{
	"gauge-dead": func(c *circuit.Circuit) *bool { return &c.GaugeDead },
}

func findTarget(name string) (target, bool) {
	if f, ok := flags[name]; ok {
		return target{name, f}, true
	}
	return target{name, nil}, slices.Contains(circuit.NumberNames(), name)
}

// targetNames are all the names that findTarget knows.
func targetNames() []string {
	names := circuit.NumberNames()
	for name := range flags {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
