package trace

import (
	"fmt"
	"strings"
)

// Choice is a question about the file that only a person can settle: two ways
// to read it remain possible. A log with an open choice must not be weighed.
type Choice struct {
	What string // the question: "Which clock is right?"
	Ways []Way  // the first is how the log was read
}

// Way is one answer to a Choice.
type Way struct {
	Says string            // what the log would be: "column 1 (Time): 20.1 min, a row every 0.50 s"
	Map  map[string]string // what to add to ReadOptions.Map to choose it
}

// String asks the question and says how to answer it in a job file or on the
// command line.
func (c Choice) String() string {
	var ways []string
	for _, w := range c.Ways {
		ways = append(ways, fmt.Sprintf("%s (map: {%s})", w.Says, w.pairs()))
	}
	return fmt.Sprintf("%s Choose one: %s", c.What, strings.Join(ways, "; or "))
}

// pairs is the way's map as a job file has it.
func (w Way) pairs() string {
	var s []string
	for k, v := range w.Map {
		s = append(s, fmt.Sprintf("%s: %q", k, v))
	}
	return strings.Join(s, ", ")
}

// maxWays bounds how many answers are offered.
const maxWays = 3

// compareClocks tells the clocks that were passed over, and asks a person
// where another one is nearly as likely and would make another log.
func (l *layout) compareClocks(all []clockReading) {
	best, fit := all[0], &clocks().Fit
	same, near := fit.SameLength.Value, fit.NearlyAsFit.Value
	ways := []Way{best.way()}
	told := map[int]bool{best.time: true}
	for _, r := range all[1:] {
		differs := r.lasts < best.lasts*(1-same) || r.lasts > best.lasts*(1+same)
		if differs && r.wrong == "" && (best.score-r.score < near || best.rhythm < -near && r.rhythm >= fit.KeptScore.Value) && len(ways) < maxWays {
			ways = append(ways, r.way())
		}
		first := !told[r.time]
		told[r.time] = true
		if differs && first && (r.word == "time" || r.word == "run-time" || r.word == "since") {
			why := "it tells fewer rows apart or its name fits less"
			if r.wrong != "" {
				why = r.wrong
			}
			l.assumed = append(l.assumed, Assumption{What: fmt.Sprintf("it is not the clock: with it the first %d rows would last %s", r.rows, lasting(r.lasts)), Where: r.where, Why: why})
		}
	}
	if len(ways) > 1 {
		l.choices = append(l.choices, Choice{What: "Which clock is right?", Ways: ways})
		l.assumed = append(l.assumed, Assumption{What: "the clock is uncertain", Where: best.where, Doubt: true,
			Why: fmt.Sprintf("%s and %s are both possible", ways[0].Says, ways[1].Says)})
	}
	if best.wrong != "" {
		l.assumed = append(l.assumed, Assumption{What: "the clock is doubtful", Where: best.where, Why: best.wrong, Doubt: true})
	}
}

func (r clockReading) way() Way {
	column := fmt.Sprintf("#%d", r.time+1)
	says := r.where
	if r.unit != "" {
		column += "@" + r.unit
		says += " in " + r.unit
	}
	return Way{Says: fmt.Sprintf("%s: %s for the first %d rows", says, lasting(r.lasts), r.rows), Map: map[string]string{"time": column}}
}

// lasting is a length of time for people.
func lasting(s float64) string {
	switch {
	case s < 120:
		return fmt.Sprintf("%.3g s", s)
	case s < 7200:
		return fmt.Sprintf("%.1f min", s/60)
	}
	return fmt.Sprintf("%.1f h", s/3600)
}
