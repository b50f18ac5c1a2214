package trace

// Limits of what an engine can do, against which readings are held. Judgement.
const (
	// JumpK is the largest step in K between neighbouring rows that coolant can
	// make at its sensor. 100 kW of fuel heats 25 kJ/K by 2 K/s at most, and a
	// slug of cold coolant takes seconds to pass the sensor's own lag.
	JumpK = 8.0

	// StoppedRevs is the speed in rev/s below which the engine stands.
	StoppedRevs = 3.0
)
