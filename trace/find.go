package trace

// jumpK is the largest step between rows a second or two apart that coolant can
// make at its sensor. Judgement: 100 kW of fuel heat a mass of 25 kJ/K by 2 K/s,
// and a slug of cold coolant takes seconds to pass the sensor's own lag.
const jumpK = 8.0
