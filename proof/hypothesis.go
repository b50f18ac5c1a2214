package proof

import (
	"weephole/cause"
	"weephole/circuit"
)

// Class says how a repair came out.
type Class int

// The classes. Only Good and Beside may be passed.
const (
	Good    Class = iota // the repaired cause is gone and nothing else is wrong
	Still                // the repaired cause is there as before, or in part
	Left                 // it is gone, but the repair left something behind
	Another              // another fault was there all along that bears on the complaint, alone or besides
	Unnamed              // something that the catalogue does not name
	Beside               // as Good, but for a fault that has nothing to do with the complaint
	classes
)

var classWords = [classes]string{"good", "still", "left-behind", "another-fault", "unnamed", "beside"}

// well is true of the classes in which the repair is good.
func (c Class) well() bool { return c == Good || c == Beside }

// String is the class's word in JSON.
func (c Class) String() string { return classWords[c] }

// MarshalText writes the class's word.
func (c Class) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// hypothesis is one engine after the repair in one of the ways in which the
// repair may have come out.
type hypothesis struct {
	engine int // number of the engine it was made from
	class  Class
	second bool // another fault beside one that the repair has cured
	faults []cause.Present
	circ   circuit.Circuit
	p      float64 // probability that its engine comes out so
	weight float64 // within its class; those of a class sum to 1

	record circuit.Record
	have   circuit.Set
}
