package stranger

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
)

// Want says which cars are asked for.
type Want int

// The kinds of car.
const (
	Single  Want = iota // one fault that its owner notices
	Pair                // two, one of them at least noticed
	Healthy             // nothing wrong, and brought in all the same
)

func (w Want) String() string { return [...]string{"one fault", "two faults", "nothing wrong"}[w] }

// Case is one car of the stranger's world as it comes to the bench, and the truth.
type Case struct {
	Name      string
	Want      Want
	Drive     string // kind of fan and place of the thermostat
	Faults    []Fault
	Complaint Complaint
	Findings  []Finding // the log is the last
	Log       []row
	Car       *Car
	Day       day
	typed     typed
	cold      float64
}

// Truths are the causes that are there, no-fault if none is.
func (k *Case) Truths() []string {
	if len(k.Faults) == 0 {
		return []string{"no-fault"}
	}
	var list []string
	for _, f := range k.Faults {
		list = append(list, f.Cause)
	}
	return list
}

// tries is how often another car is drawn when the owner notices nothing.
const tries = 60

// Meet draws car number i of a seed: the same seed gives the same car whatever
// else is drawn.
func Meet(ctx context.Context, seed uint64, i int, want Want) (*Case, error) {
	k, err := meet(ctx, seed, uint64(i), want)
	if err != nil {
		return nil, err
	}
	k.Name = fmt.Sprintf("%s-%d-%03d", strings.ReplaceAll(want.String(), " ", "-"), seed, i)
	return k, nil
}

func meet(ctx context.Context, seed, i uint64, want Want) (*Case, error) {
	ranges, err := DefaultRanges()
	if err != nil {
		return nil, err
	}
	list, err := kinds()
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(spread(seed), spread(i<<8|uint64(want))))
	d := draws{ranges, rng}
	first := chosen(list, d)
	for range tries {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c := drawCar(d)
		if !faulty(c, want, first, list, d) {
			continue
		}
		if k := c.come(want, d); k != nil {
			return k, nil
		}
	}
	// This fault does not show on the cars that were drawn: another one.
	return meet(ctx, seed, i+1_000_000, want)
}

// spread mixes the bits of a seed (SplitMix64, Steele, Lea & Flood 2014, from memory).
func spread(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

func chosen(list []kind, d draws) *kind {
	total := 0.0
	for i := range list {
		total += list[i].Often
	}
	u := d.rng.Float64() * total
	for i := range list {
		if u -= list[i].Often; u < 0 {
			return &list[i]
		}
	}
	return &list[len(list)-1]
}

// follows are second faults that come of the first; judgement.
var follows = map[string][]string{
	"fan-dead": {"combustion-leak", "coolant-low"}, "thermostat-shut": {"combustion-leak"}, "coolant-low": {"air-pocket", "combustion-leak"},
	"cap-weak": {"coolant-low"}, "radiator-clogged": {"heater-core-clogged", "combustion-leak"}, "pump-weak": {"combustion-leak"},
	"fan-clutch-slipping": {"combustion-leak"}, "radiator-screened": {"fan-clutch-slipping"}, "belt-slipping": {"coolant-low"},
}

// faulty gives the car its faults; false if this car cannot have them.
func faulty(c *Car, want Want, first *kind, list []kind, d draws) bool {
	if want == Healthy {
		return true
	}
	if !c.may(first) {
		return false
	}
	c.suffers(first, d)
	if want != Pair {
		return true
	}
	second := chosen(list, d)
	if ids := follows[first.Cause]; len(ids) > 0 && d.may("second-follows") {
		id := ids[d.rng.IntN(len(ids))]
		second = &list[slices.IndexFunc(list, func(k kind) bool { return k.Cause == id })]
	}
	if !c.may(second) || second.Cause == first.Cause || part(second.Cause) == part(first.Cause) {
		return false
	}
	c.suffers(second, d)
	return true
}

// part names what a cause belongs to: one part is not bad in two ways at once.
func part(cause string) string {
	p, _, _ := strings.Cut(cause, "-")
	if p == "shroud" {
		return "fan"
	}
	return p
}

// come makes the visit: the owner's use, his complaint, the checks, the log. It
// gives nil if the owner has nothing to complain of.
func (c *Car) come(want Want, d draws) *Case {
	dy := day{ownerC: d.of("hot-day"), shopC: d.of("shop-air"), altitude: math.Round(d.of("altitude")), tow: d.of("trailer"), hill: d.of("hill")}
	dy.towing = d.may("tows")
	cold := c.has("thermostat-open") != nil || c.has("heater-core-clogged") != nil || c.has("heater-flap") != nil || c.is.minLift > 0 || c.is.closesLater > 0 || d.may("cold-season")
	if cold && d.may("comes-in-the-cold") {
		dy.ownerC = d.of("cold-day")
	}
	if math.Abs(dy.shopC-dy.ownerC) > 15 {
		dy.shopC = dy.ownerC + d.between(-6, 10)
	}
	// What may boil is restarted hot too.
	restart := d.may("restarts-hot") || c.is.cap < 1 || c.is.glycol >= 0
	u := c.use(dy, restart)
	o := drawOwner(d)
	var complaint Complaint
	if want == Healthy {
		complaint = needless(c, dy, d)
	} else {
		was := *c
		was.is, was.Faults = none(), nil
		complaint = o.tell(c, dy, u, was.use(dy, restart), d)
	}
	if len(complaint.Signs) == 0 {
		return nil
	}
	v := &visit{c: c, m: drawMechanic(d), d: d, day: dy}
	v.logIt()
	v.hot()
	v.codes(u)
	return &Case{Want: want, Drive: c.drive(), Faults: c.Faults, Complaint: complaint, Findings: v.out, Log: v.log, Car: c, Day: dy,
		typed: drawTyped(c, dy, v.m, d), cold: v.cold}
}

// needless is a complaint about a car that has nothing; judgement.
func needless(c *Car, dy day, d draws) (k Complaint) {
	k.AirC = math.NaN()
	switch u := d.rng.Float64(); {
	case u < 0.4:
		k.Signs = []string{"overheats"}
		k.When = []string{[...]string{"climb", "city", "idle", "air-conditioning"}[d.rng.IntN(4)]}
		k.Fine = []string{"motorway"}
	case u < 0.55:
		k.Signs = []string{"fan-always-on"}
	case u < 0.7:
		k.Signs = []string{"sweet-smell"}
	case u < 0.8:
		k.Signs = []string{"slow-to-warm"}
	case u < 0.9:
		k.Signs = []string{"loses-coolant"}
	default:
		k.Signs = []string{"lamp"}
	}
	if c.FanKind == Viscous && k.Signs[0] == "fan-always-on" {
		k.Signs[0] = "sweet-smell"
	}
	return k
}

// drive names the kind of car for the tables.
func (c *Car) drive() string {
	fan := [...]string{"electric fan", "two-speed fan", "pulsed fan", "viscous fan"}[c.FanKind]
	side := "outlet"
	if c.OnInlet {
		side = "inlet"
	}
	return fan + ", thermostat on the " + side
}
