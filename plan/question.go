package plan

import (
	"cmp"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/check"
	"weephole/lineup"
	"weephole/plan/solve"
	"weephole/sheet"
)

//go:embed asks.yaml
var asksYAML []byte

// CanTell reads the details that an owner can tell.
func CanTell() (map[string]bool, error) {
	var s struct {
		CanTell []struct {
			Signs  []string `sheet:"signs,required"`
			Source string   `sheet:"source,required"`
		} `sheet:"can-tell,required"`
	}
	if err := sheet.Embedded("asks.yaml", asksYAML, &s); err != nil {
		return nil, fmt.Errorf("what an owner can tell: %w", err)
	}
	out := make(map[string]bool)
	for _, x := range s.CanTell {
		for _, id := range x.Signs {
			out[id] = true
		}
	}
	return out, nil
}

// asking begins the id of a step that asks the owner; the sign follows.
const asking = "ask-"

// The answers to a question. Not known tells nothing: the question is just not asked again.
const (
	Yes      = "yes"
	No       = "no"
	NotKnown = "not-known"
)

// Asks is the sign that a step asks the owner about; empty for a check.
func Asks(id string) string {
	sign, ok := strings.CutPrefix(id, asking)
	if !ok {
		return ""
	}
	return sign
}

// AddQuestions makes the most telling questions to the owner steps of the plan like checks. A question
// needs no state of the engine and leaves it as it is. What was told, denied, or asked and not known is not
// asked. It comes after NewCar and before Search.
func (c *CarProblem) AddQuestions(cs lineup.Case, notKnown []string) error {
	c.unasked = c.unsaid(cs, notKnown)
	type telling struct {
		unsaid
		bits float64
	}
	var list []telling
	same := c.sameFaults()
	for _, u := range c.unasked {
		list = append(list, telling{u, c.bits(same, u.yes)})
	}
	slices.SortStableFunc(list, func(a, b telling) int { return cmp.Compare(b.bits, a.bits) })
	for _, u := range list[:min(int(c.Settings.Questions.Value), len(list))] {
		if u.bits >= c.Settings.AskedBits.Value {
			c.addQuestion(u.unsaid)
		}
	}
	if err := c.Problem.Validate(); err != nil {
		return fmt.Errorf("plan: questions to the owner: %w", err)
	}
	return nil
}

// sameFaults numbers the sets of faults, by hypothesis.
func (c *CarProblem) sameFaults() (set []int) {
	number := make(map[[solve.MaxFaults]int]int)
	for _, kinds := range c.Problem.Faults {
		var key [solve.MaxFaults]int
		for i, k := range kinds {
			key[i] = k + 1
		}
		if _, there := number[key]; !there {
			number[key] = len(number)
		}
		set = append(set, number[key])
	}
	return set
}

// bits is what a yes or a no tells about which faults are there, on average: the mutual
// information of the answer and the set of faults (Cover and Thomas 2006, 2.28).
func (c *CarProblem) bits(set []int, yes []float64) float64 {
	all, ifYes := make([]float64, len(set)), make([]float64, len(set))
	total := 0.0
	for h, w := range c.Problem.Weight {
		all[set[h]] += w
		ifYes[set[h]] += w * yes[h]
		total += w * yes[h]
	}
	sum := 0.0
	for i, w := range all {
		for _, p := range [2][2]float64{{ifYes[i], total}, {w - ifYes[i], 1 - total}} {
			if p[0] > tiny && p[1] > tiny {
				sum += p[0] * math.Log2(p[0]/(w*p[1]))
			}
		}
	}
	return sum
}

// addQuestion makes a question a step: a check in words that any engine allows.
func (c *CarProblem) addQuestion(u unsaid) {
	k := &check.Check{
		ID: asking + u.sign.ID, Name: "ask the owner: " + u.sign.Name + ", yes or no?", State: "any", Asks: u.sign.Name + ", yes or no?",
		How: fmt.Sprintf("Let him tell first, and do not lead him. Write a yes among the findings as sign: %[1]s, a no as denied: %[1]s, and that he cannot tell as not-known: %[1]s.", u.sign.ID),
		Words: []check.Word{
			{Is: Yes, Says: "the owner says yes"}, {Is: No, Says: "the owner says no"}, {Is: NotKnown, Says: "the owner cannot tell"},
		},
	}
	k.Minutes.Typical = c.Settings.Asking.Value
	p := rows(len(k.Words), len(u.yes))
	unsure := c.Settings.AskedUnsure.Value
	for h, yes := range u.yes {
		p[0][h], p[1][h], p[2][h] = (1-unsure)*yes, (1-unsure)*(1-yes), unsure
	}
	a := solve.CheckAction{P: p}
	for state := range engineStates {
		a.Cost = append(a.Cost, k.Minutes.Typical/60*c.Rate)
		a.Minutes = append(a.Minutes, k.Minutes.Typical)
		a.Then = append(a.Then, int(state))
	}
	var results []Result
	for _, w := range k.Words {
		results = append(results, Result{Word: w.Is, Says: w.Says})
	}
	c.Problem.Checks = append(c.Problem.Checks, a)
	c.Checks = append(c.Checks, k)
	c.Results = append(c.Results, results)
	c.Lacking = append(c.Lacking, nil)
	c.Overheat = append(c.Overheat, 0)
	c.again = append(c.again, false)
}

// call is a question with the others that are worth their minute in the same call, most telling first.
func (c *CarProblem) call(s *solve.Search, list []solve.Action, state int) []solve.Action {
	out := list[:1:1]
	more := c.Settings.AskingMore.Value / 60 * c.Rate
	for _, a := range list[1:] {
		if a.Kind == solve.DoCheck && Asks(c.Checks[a.Index].ID) != "" && s.Worth(a.Index, more, state) >= c.Settings.RoundWorth.Value {
			a.Cost = more
			out = append(out, a)
		}
	}
	return out
}

// RoundMinutes is the work of the i-th action of a round, begun with the engine in the state: a further question
// in a call takes less than the call.
func (c *CarProblem) RoundMinutes(i int, a solve.Action, state EngineState) float64 {
	k := c.Checks[a.Index]
	if i > 0 && Asks(k.ID) != "" {
		return c.Settings.AskingMore.Value
	}
	return c.Problem.Checks[a.Index].Minutes[state] - c.Wait(k, state)
}
