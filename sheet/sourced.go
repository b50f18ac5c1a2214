package sheet

// Sourced is a number with the source it was taken from; "judgement" is a source.
type Sourced struct {
	Value  float64 `sheet:"value,required"`
	Source string  `sheet:"source,required"`
}

// Range is a quantity that varies from job to job: about one in ten is below
// Low and one in ten above High. The unit is given where it is used.
type Range struct {
	Low     float64 `sheet:"low,required"`
	Typical float64 `sheet:"typical,required"`
	High    float64 `sheet:"high,required"`
	Source  string  `sheet:"source,required"`
}
