package quantity

// MarshalRatio writes within the bounds of ParseRatio; Share.MarshalText keeps to those
// of ParseShare.
func MarshalRatio(s Share) ([]byte, error) { return ratioUnits.exact(float64(s)) }
