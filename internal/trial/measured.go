package trial

// Measured is what a trial gives.
type Measured struct {
	Jobs int    `json:"jobs"`
	Seed uint64 `json:"seed"`

	Groups   []Group    `json:"groups"`   // single causes, pairs, nothing wrong, beyond the catalogue
	Tellable Group      `json:"tellable"` // single causes that some check can show
	Moments  []Moment   `json:"moments"`  // single causes only
	Causes   []PerCause `json:"causes"`   // single causes only, at naming
	Gasket   Gasket     `json:"head_gasket"`
	Ways     []WayCosts `json:"ways"`
	Bins     []Bin      `json:"calibration"` // of the leading cause at all moments but the end
	ECE      Mean       `json:"expected_calibration_error"`
	// Chance is the calibration error that statements which mean just what they
	// say would show on so many cars, on average.
	Chance    float64    `json:"calibration_error_by_chance"`
	Confusion []Mistaken `json:"confusion"` // at naming, single causes
	Sure      []Mistaken `json:"too_sure"`  // leading causes at 0.9 and more that were wrong, all moments
}

// Group is a kind of car.
type Group struct {
	Kind     string `json:"kind"`
	Cars     int    `json:"cars"`
	Named    Share  `json:"named_first"`  // a true cause leads at the first repair
	Last     Share  `json:"leads_at_end"` // a true cause leads when the work ends
	All      Share  `json:"all_named"`    // all true causes were named for a repair by the end, or lead
	Any      Share  `json:"any_named"`    // at least one was
	Proven   Share  `json:"proven"`       // cured and shown
	FirstFix Share  `json:"first_repair"` // first repair took something away
}

// Moment is the standing of the belief at one moment.
type Moment struct {
	At          string  `json:"at"`
	OnTrue      Mean    `json:"on_true"` // mean probability on the true cause
	First       Share   `json:"first"`
	TopThree    Share   `json:"top_three"`
	Brier       Mean    `json:"brier"`     // over the causes, 0..2
	LogScore    Mean    `json:"log_score"` // nats, smaller is better
	Calibration Mean    `json:"expected_calibration_error"`
	Sureness    float64 `json:"mean_leading"` // mean probability of the leading cause, to be compared with First
}

// PerCause is how single causes of one kind fared.
type PerCause struct {
	Cause     string           `json:"cause"`
	Cars      int              `json:"cars"`
	OnTrue    map[string]Mean  `json:"on_true"` // by moment
	First     map[string]Share `json:"first"`   // by moment
	TopThree  Share            `json:"top_three"`
	Proven    Share            `json:"proven"`
	MeanCost  float64          `json:"mean_cost"`
	BookCost  float64          `json:"textbook_cost"`
	KnownCost float64          `json:"known_cost"`
}

// Gasket is how often the head gasket was blamed.
type Gasket struct {
	Wrong    Share `json:"named_wrongly"`    // a head-gasket job was done, of cars without a combustion leak
	Missed   Share `json:"missed"`           // never named, of cars with one
	WrongBig Share `json:"wrong_big_repair"` // cars on which a costly repair took nothing away
}

// WayCosts is what a way of working cost.
type WayCosts struct {
	Way      string `json:"way"`
	Cost     Mean   `json:"cost"`
	Minutes  Mean   `json:"minutes"`
	Checks   Mean   `json:"checks"`
	Repairs  Mean   `json:"repairs"`
	Proven   Share  `json:"proven"`
	WrongBig Share  `json:"wrong_big_repair"`
	// Against is the mean cost of the program on the same cars, as a share of
	// this way's.
	Against Mean `json:"weephole_share"`
}

// Mistaken is a cause taken for another.
type Mistaken struct {
	True  string `json:"true"`
	Taken string `json:"taken"`
	Cars  int    `json:"cars"`
}
