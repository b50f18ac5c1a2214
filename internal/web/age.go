package web

import (
	"fmt"
	"math"
	"time"

	"weephole/internal/answer"
	"weephole/internal/web/answers"
)

// age says when an answer was worked out, and how rough it is. A script keeps the words
// true while the page stays open (assets/age.js).
type age struct {
	Answer  int64 // its number: the newest entry that it takes into account
	At      time.Time
	Engines int
	Seconds int64  // since then, by the bench's clock
	Ago     string // the same in words
	From    string // what it rests on, and how exact that makes it; it stands first, so that nothing moves as Ago grows
}

// ageOf is the age of the answer that a job's strip shows; nil where nothing was worked out.
// behind: it does not know the newest entry yet.
func (dg *diagnosis) ageOf(a *answers.Answer, behind bool) *age {
	if a == nil || a.Odds == nil || a.Problem != "" {
		return nil
	}
	g := dg.aged(answers.Origin{Seq: a.Seq, At: a.Made, Engines: a.Odds.Candidates})
	if g == nil {
		return nil
	}
	if g.From += ", " + offBy(a.Odds.Error); behind {
		g.From = "Before the newest entry" // how exact it is does not matter any more
	}
	return g
}

// deviations is how many standard errors the figures are said to be off by, as in the
// answer's own warning: 95 of 100 lie within two.
const deviations = 2

// offBy is how far chance alone may have moved the probabilities, in percentage points.
func offBy(standardError float64) string {
	points := max(1, math.Ceil(100*deviations*standardError))
	if points == 1 {
		return "± 1 point"
	}
	return fmt.Sprintf("± %.0f points", points)
}

// aged is the age of what was worked out by itself; nil where that is not known.
func (dg *diagnosis) aged(m answers.Origin) *age {
	if m.At.IsZero() {
		return nil
	}
	old := max(0, dg.cfg.Now().Sub(m.At))
	return &age{Answer: m.Seq, At: m.At, Engines: m.Engines, Seconds: int64(old.Seconds()), Ago: ago(old), From: "From " + answer.Thousands(m.Engines) + " engines"}
}

// unlike is the age of what was worked out by itself, beside what the strip shows; nil
// where both rest on the same engines after the same entry: then the strip says it.
func (g *age) unlike(strip *age) *age {
	if g != nil && strip != nil && g.Answer == strip.Answer && g.Engines == strip.Engines {
		return nil
	}
	return g
}

// ago is an age in words, in whole minutes, hours or days. The script says it in the
// same words.
func ago(old time.Duration) string {
	const day = 24 * time.Hour
	switch {
	case old < time.Minute:
		return "under 1 min ago"
	case old < time.Hour:
		return fmt.Sprintf("%d min ago", old/time.Minute)
	case old < day:
		return fmt.Sprintf("%d h ago", old/time.Hour)
	case old < 2*day:
		return "1 day ago"
	}
	return fmt.Sprintf("%d days ago", old/day)
}
