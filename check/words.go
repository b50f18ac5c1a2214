package check

// The fixed words that the sheets of this package may use.

// engineStates are the states of the engine that a check may need.
var engineStates = [...]string{
	"any", "cold", "cold-start", "warm", "hot-idle", "fast-idle", "hot-off", "road", "open",
}

// hotStates are those in which something is hot, moving or on the road.
var hotStates = [...]string{"cold-start", "warm", "hot-idle", "fast-idle", "hot-off", "road"}

// troubleWords are the kinds of trouble, indexed by Trouble.
var troubleWords = [numTroubles]string{"hot", "cold", "loss", "other"}

// whats are the dimensions of readings and the units that their error may be
// given in, with the SI size of the unit.
var whats = []struct {
	what, unit string
	si         float64
}{
	{"temperature", "K", 1},
	{"temperature-difference", "K", 1},
	{"pressure", "Pa", 1},
	{"pressure", "kPa", 1000},
	{"duration", "s", 1},
	{"duration", "min", 60},
	{"share", "share", 1},
}

// States are the states of the engine that a check may need: any, cold,
// cold-start (started cold, running for minutes), warm, hot-idle, fast-idle (hot,
// held at 2,500 rev/min), hot-off, road, open (parts off).
func States() []string { return append([]string(nil), engineStates[:]...) }

// HotStates are the States in which something is hot, moving or on the road.
func HotStates() []string { return append([]string(nil), hotStates[:]...) }

// String is the kind of trouble in the sheets: "hot", "cold", "loss", "other".
func (t Trouble) String() string {
	if t < numTroubles {
		return troubleWords[t]
	}
	return "other"
}
