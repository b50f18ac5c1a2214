package trial

import (
	"fmt"
	"io"
	"slices"
	"strings"
)

// WriteTables writes the report as Markdown tables.
func (r *StrangerReport) WriteTables(w io.Writer) error {
	var b strings.Builder
	kind := "tuning"
	if r.Fresh {
		kind = "fresh"
	}
	fmt.Fprintf(&b, "%d cars of the stranger's world, %s seed %d.\n", r.Cars, kind, r.Seed)
	for _, st := range r.Stages {
		fmt.Fprintf(&b, "\n## Given: %s\n\n", st.Told)
		b.WriteString(scoreTable("cars with", slices.Concat(st.Groups, st.Drives)))
		fmt.Fprintf(&b, "\nOf two faults, both are among the first three that are held to be bad in %s.\n", st.PairsBad.percent())
		if len(st.Neighbours) > 0 {
			b.WriteString("\nNearest neighbours in the stranger's own runs, given the same facts:\n\n" + scoreTable("cars with", st.Neighbours))
		}
		b.WriteString("\nOne fault, by cause:\n\n" + truthTable(st.Causes))
		b.WriteString("\nMisses among single faults, the surest first:\n\n" + missTable(st.Misses))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
