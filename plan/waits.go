package plan

import (
	_ "embed"
	"fmt"

	"weephole/sheet"
)

//go:embed waits.yaml
var waitsYAML []byte

// LongWait is a check before which the car must stand or be driven for long.
type LongWait struct {
	Check   string  `sheet:"check,required"`
	Minutes float64 `sheet:"minutes,required"`
	Cost    float64 `sheet:"cost,required"` // US$
	Source  string  `sheet:"source,required"`
}

func longWaits() ([]LongWait, error) {
	var s struct {
		Waits []LongWait `sheet:"waits,required"`
	}
	if err := sheet.Embedded("waits.yaml", waitsYAML, &s); err != nil {
		return nil, fmt.Errorf("long waits: %w", err)
	}
	return s.Waits, nil
}

// longWait is the wait before a check; nil for none.
func (s *Assumptions) longWait(check string) *LongWait {
	for i := range s.waits {
		if s.waits[i].Check == check {
			return &s.waits[i]
		}
	}
	return nil
}
