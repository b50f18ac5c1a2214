package work

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"

	"weephole/lineup"
)

// KeyOf names a case: equal cases have equal keys. JSON has no word for what a log's row
// does not hold (NaN), so logs go in by their bits.
func KeyOf(cs lineup.Case) (string, error) {
	h := sha256.New()
	cs.Events = slices.Clone(cs.Events)
	for i := range cs.Events {
		log := cs.Events[i].Log
		if log == nil {
			continue
		}
		cs.Events[i].Log = nil
		fmt.Fprintln(h, i, log.StartC, log.Jumps, log.Soaked)
		if err := binary.Write(h, binary.LittleEndian, log.Segments); err != nil {
			return "", err
		}
	}
	if err := json.NewEncoder(h).Encode(cs); err != nil {
		return "", err
	}
	return string(h.Sum(nil)), nil
}
