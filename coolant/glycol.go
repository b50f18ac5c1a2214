package coolant

import "fmt"

// Glycol is the kind of antifreeze base in a mix.
type Glycol uint8

// The glycols.
const (
	Ethylene  Glycol = iota // the usual one; poisonous
	Propylene               // the less poisonous one; its boiling point is less certain here
	numGlycols
)

// String gives the kind's word, "ethylene" or "propylene".
func (g Glycol) String() string {
	switch g {
	case Ethylene:
		return "ethylene"
	case Propylene:
		return "propylene"
	}
	return fmt.Sprintf("Glycol(%d)", uint8(g))
}

// Glycols lists the kinds.
func Glycols() []Glycol { return []Glycol{Ethylene, Propylene} }

// MarshalText writes the kind's word.
func (g Glycol) MarshalText() ([]byte, error) {
	if g >= numGlycols {
		return nil, fmt.Errorf("glycol: no kind has the number %d", uint8(g))
	}
	return []byte(g.String()), nil
}

// UnmarshalText reads the kind's word.
func (g *Glycol) UnmarshalText(text []byte) error {
	for _, kind := range Glycols() {
		if kind.String() == string(text) {
			*g = kind
			return nil
		}
	}
	return fmt.Errorf("glycol: found %q; write ethylene or propylene", text)
}
