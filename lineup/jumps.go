package lineup

import "math"

// logJumps is the log probability that the log jumps as it does on an engine
// with these faults. What jumps from row to row, faster than any coolant can change, is
// the sensor's contact or the logger, never the engine. How often each does is in the
// catalogue (`jumps` of a hidden state) and in the settings.
func (m *Model) logJumps(jumps int, f *faults) float64 {
	set := m.Settings
	sound := set.TraceJumpsFew.Value
	if jumps >= int(set.JumpsMany.Value) {
		sound = set.TraceJumpsMany.Value
	}
	quiet := 1 - sound
	for _, p := range f.present() {
		c := &m.Causes.Causes[p.Cause]
		for h := range c.Hidden {
			if j := c.Hidden[h].States[p.Hidden[h]].Jumps; j != nil {
				quiet *= 1 - j.Value
			}
		}
	}
	if jumps < int(set.JumpsFew.Value) {
		return math.Log(quiet)
	}
	return math.Log(1 - quiet)
}
