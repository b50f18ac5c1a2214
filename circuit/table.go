package circuit

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

//go:embed numbers.yaml
var embedded []byte

// Number is one row of the table: a quantity of the circuit, its range over
// healthy cars of the reference size, and where that is known from.
type Number struct {
	Name     string     `yaml:"name"`     // kebab-case of the field of Circuit
	Unit     string     `yaml:"unit"`     // as in the row's low, typical and high
	Low      float64    `yaml:"low"`      // lower end of about a 95 % range
	Typical  float64    `yaml:"typical"`  //
	High     float64    `yaml:"high"`     // upper end
	Spread   Spread     `yaml:"spread"`   // how values lie in the range
	Scale    string     `yaml:"scale"`    // "", "displacement", "power", "engine-mass" or "cylinders"
	Exponent float64    `yaml:"exponent"` // of the size ratio
	From     string     `yaml:"from"`     // low, typical and high are added to this number, if named
	Source   string     `yaml:"source"`
	Diesel   *FuelRange `yaml:"diesel"` // the range for a diesel, where it is another
}

// FuelRange is a number's range for one kind of engine, in the row's unit.
type FuelRange struct {
	Low     float64 `yaml:"low"`
	Typical float64 `yaml:"typical"`
	High    float64 `yaml:"high"`
	Source  string  `yaml:"source"`
}

// Spread says how a number lies in its range.
type Spread string

// The spreads.
const (
	Normal    Spread = "normal"    // each side of typical with its own width
	Lognormal Spread = "lognormal" // the same for its logarithm
	Choice    Spread = "choice"    // a yes or no, or a kind, by probability
	Fixed     Spread = "fixed"     // not drawn
)

// Table is the table of numbers: what a healthy circuit may be.
type Table struct {
	rows  []Number
	slots []slot
	dim   int
}

// slot is what a draw needs to know of a row, so that it looks nothing up.
type slot struct {
	at      func(*Circuit) *float64 // nil for displacement, power and choices
	from    func(*Circuit) *float64
	z       int // index of its normal deviate, -1 if not drawn
	special special
	scale   scaling
	factor  float64 // from the row's unit to SI
}

type special uint8

const (
	plain special = iota
	isDisplacement
	isPower
	isOnInlet
	isFanKind
)

type scaling uint8

const (
	byNothing scaling = iota
	byDisplacement
	byPower
	byEngineMass
	byCylinders
)

var scalings = map[string]scaling{"": byNothing, "displacement": byDisplacement, "power": byPower, "engine-mass": byEngineMass, "cylinders": byCylinders}

var specials = map[string]special{
	"displacement": isDisplacement, "engine-power": isPower,
	"thermostat-on-inlet": isOnInlet, "fan-kind": isFanKind,
}

// unitFactors turn the units of the table that are not SI into SI.
var unitFactors = map[string]float64{"L": 1e-3, "kW": 1e3}

// DefaultTable gives the table that comes with the package.
func DefaultTable() (*Table, error) { return LoadTable(bytes.NewReader(embedded)) }

// LoadTable reads a table. Every field of Circuit must have its row, in an
// order in which a number named by "from" or "scale" stands before its users.
// Errors name the line.
func LoadTable(r io.Reader) (*Table, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("read numbers: %w", err)
	}
	var file struct {
		Numbers []Number `yaml:"numbers"`
	}
	if err := yaml.NewDecoder(bytes.NewReader(text), yaml.Strict()).Decode(&file); err != nil {
		return nil, fmt.Errorf("read numbers: %w", err)
	}
	lines, err := rowLines(text)
	if err != nil {
		return nil, fmt.Errorf("read numbers: %w", err)
	}
	t := &Table{rows: file.Numbers}
	seen := make(map[string]bool)
	for i, row := range t.rows {
		s, err := t.slotFor(row, seen)
		if err != nil {
			line := 0
			if i < len(lines) {
				line = lines[i]
			}
			return nil, fmt.Errorf("numbers line %d: %w", line, err)
		}
		seen[row.Name] = true
		t.slots = append(t.slots, s)
	}
	var missing []string
	for _, name := range NumberNames() {
		if !seen[name] {
			missing = append(missing, name)
		}
	}
	for name := range specials {
		if !seen[name] {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		return nil, fmt.Errorf("numbers: no row for %s", strings.Join(missing, ", "))
	}
	return t, nil
}

// rowLines gives the line on which each row begins.
func rowLines(text []byte) ([]int, error) {
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		return nil, err
	}
	var lines []int
	for _, doc := range file.Docs {
		root, ok := doc.Body.(*ast.MappingNode)
		if !ok {
			continue
		}
		for _, entry := range root.Values {
			if rows, ok := entry.Value.(*ast.SequenceNode); ok {
				for _, row := range rows.Values {
					lines = append(lines, row.GetToken().Position.Line)
				}
			}
		}
	}
	return lines, nil
}

func (t *Table) slotFor(row Number, seen map[string]bool) (slot, error) {
	s := slot{z: -1, factor: 1}
	if row.Name == "" {
		return s, errors.New("a row without a name")
	}
	if seen[row.Name] {
		return s, fmt.Errorf("%s: second row of that name", row.Name)
	}
	s.special = specials[row.Name]
	if s.special == plain {
		if s.at = numberByName[row.Name]; s.at == nil {
			return s, fmt.Errorf("%s: no such number; nearest is %q", row.Name, nearest(row.Name, NumberNames()))
		}
	}
	switch row.Spread {
	case Fixed:
	case Normal, Lognormal, Choice:
		s.z = t.dim
		t.dim++
	default:
		return s, fmt.Errorf("%s: spread %q; want normal, lognormal, choice or fixed", row.Name, row.Spread)
	}
	if isChoice := s.special == isOnInlet || s.special == isFanKind; isChoice != (row.Spread == Choice) {
		return s, fmt.Errorf("%s: spread %q; choice is for thermostat-on-inlet and fan-kind, and only choice is", row.Name, row.Spread)
	}
	if row.Spread == Lognormal && row.Low <= 0 {
		return s, fmt.Errorf("%s: low is %g; a lognormal number must be above 0", row.Name, row.Low)
	}
	if row.Spread != Choice && (row.Low > row.Typical || row.Typical > row.High) {
		return s, fmt.Errorf("%s: low %g, typical %g, high %g are not in order", row.Name, row.Low, row.Typical, row.High)
	}
	if row.Source == "" {
		return s, fmt.Errorf("%s: no source; name one, or write judgement", row.Name)
	}
	if d := row.Diesel; d != nil {
		switch {
		case row.Spread != Normal && row.Spread != Lognormal:
			return s, fmt.Errorf("%s: a diesel's own range goes with spread normal or lognormal", row.Name)
		case d.Low > d.Typical || d.Typical > d.High || row.Spread == Lognormal && d.Low <= 0:
			return s, fmt.Errorf("%s: diesel: low %g, typical %g, high %g are not in order", row.Name, d.Low, d.Typical, d.High)
		case d.Source == "":
			return s, fmt.Errorf("%s: diesel: no source; name one, or write judgement", row.Name)
		}
	}
	var ok bool
	if s.scale, ok = scalings[row.Scale]; !ok {
		return s, fmt.Errorf("%s: scale %q; want displacement, power, engine-mass or cylinders", row.Name, row.Scale)
	}
	if row.From != "" {
		if s.from = numberByName[row.From]; s.from == nil || !seen[row.From] {
			return s, fmt.Errorf("%s: from %q, which has no row before this one", row.Name, row.From)
		}
	}
	if f, ok := unitFactors[row.Unit]; ok {
		s.factor = f
	}
	return s, nil
}

// Dim is the number of drawn numbers: the length of z in Draw.
func (t *Table) Dim() int { return t.dim }

// Rows gives the rows in the table's order.
func (t *Table) Rows() []Number { return append([]Number(nil), t.rows...) }
