package trace

// StoppedRevs is the engine speed in rev/s below which the engine stands.
// Judgement: starters turn an engine at 3 to 5.
const StoppedRevs = 3.0
