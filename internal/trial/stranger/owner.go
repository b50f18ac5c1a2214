package stranger

import (
	"math"
	"slices"
)

// day is where and when the car is used and repaired.
type day struct {
	ownerC, shopC, altitude float64
	tow, hill               float64
	towing                  bool
}

// driven is what the owner's use showed, leg by leg.
type driven struct {
	warmUp record // a town drive from cold
	legs   []used
	soak   record
	level  float64 // m3 missing by now
	most   float64 // Pa, highest pressure
}

// used is one condition of the owner's use.
type used struct {
	condition string
	rec       record
}

// warmSeconds is the owner's town drive from cold.
const warmSeconds = 840

// use drives the car as its owner does, in his weather: from cold through town,
// then each of the conditions that he meets, each from the same warm engine.
func (c *Car) use(d day, restart bool) (u driven) {
	s := c.start(d.ownerC, d.altitude, d.ownerC)
	heat := 0.0
	if d.ownerC < 12 {
		heat = 1
	}
	u.warmUp = s.drive(leg{name: "city", seconds: warmSeconds, blower: heat}, 0, nil)
	base := *s
	meet := func(condition string, l leg, from state) {
		s := from
		l.blower = math.Max(l.blower, heat)
		r := s.drive(l, 0, nil)
		u.legs = append(u.legs, used{condition, r})
		u.most = math.Max(u.most, s.p.most)
		u.level = math.Max(u.level, s.p.gone+s.p.bottle)
	}
	meet("idle", leg{name: "idle", seconds: 900}, base)
	meet("city", leg{name: "city", seconds: 750}, base)
	meet("motorway", leg{name: "motorway", seconds: 720}, base)
	meet("climb", leg{name: "climb", seconds: 480, grade: d.hill}, base)
	if d.towing {
		meet("towing", leg{name: "climb", seconds: 420, grade: 0.7 * d.hill, tow: d.tow}, base)
	}
	if c.AirCon && d.ownerC > 20 {
		meet("air-conditioning", leg{name: "idle", seconds: 780, air: true}, base)
	}
	if restart {
		s := base
		s.drive(leg{name: "motorway", seconds: 400, blower: heat}, 0, nil)
		u.soak = s.drive(leg{name: "idle", seconds: 360, off: true}, 0, nil)
		r := s.drive(leg{name: "idle", seconds: 180}, 0, nil)
		u.legs = append(u.legs, used{"after-restart", r})
	}
	return u
}

// Complaint is what the owner says.
type Complaint struct {
	Signs, When, Fine []string
	AirC              float64 // NaN: not said
	Badly             string
	Times             int
}

// owner is how a person tells: what he notices, and how much of it he says.
type owner struct {
	notices float64 // degC of the needle at which he thinks it hot
	says    float64 // probability of a lesser thing being said
	errs    float64 // probability of one thing said that is not so
}

func drawOwner(d draws) owner {
	return owner{notices: d.of("notices"), says: d.of("says"), errs: d.of("errs")}
}

// tell makes the complaint: what is other than it was with the car sound on such
// a day. It is empty if there is nothing to complain of.
func (o owner) tell(c *Car, dy day, u, sound driven, d draws) (k Complaint) {
	k.AirC = math.NaN()
	sign := func(id string, p float64) {
		if d.chance(p) && !slices.Contains(k.Signs, id) {
			k.Signs = append(k.Signs, id)
		}
	}
	hot, worst := o.heat(&k, u, sound, d)
	boiled, lost := 0.0, 0.0
	for _, x := range u.legs {
		boiled, lost = math.Max(boiled, x.rec.boiled), math.Max(lost, x.rec.lost)
	}
	boiled = math.Max(boiled, u.soak.boiled)
	if hot {
		sign("overheats", d.fact("says-hot"))
	}
	if boiled > d.fact("boils-seen") || u.soak.boiled > d.fact("boils-seen-soak") {
		sign("boils-over", d.fact("says-boils"))
		sign("steam", d.fact("says-steam"))
	}
	if worst > d.fact("badly-from") && d.may("says-badly") {
		k.Badly = "yes"
	}
	o.cold(c, dy, u, sound, d, sign)
	o.coolant(c, u, lost, d, sign)
	o.gauge(c, u, sound, d, sign)
	o.fan(c, u, sound, d, sign)
	if c.has("control-valve") != nil {
		sign("lamp", d.fact("lamp-valve"))
	}
	if worst > d.fact("lamp-from") {
		sign("lamp", d.fact("lamp-hot"))
	}
	if len(k.Signs) > 0 && d.may("says-weather") {
		k.AirC = dy.ownerC + d.of("air-error")
	}
	if len(k.Signs) > 0 && d.chance(o.errs) {
		k.Signs = append(k.Signs, [...]string{"sweet-smell", "gauge-swings", "lamp", "fan-always-on"}[d.rng.IntN(4)])
		slices.Sort(k.Signs)
		k.Signs = slices.Compact(k.Signs)
	}
	return k
}

// gauge tells of a needle that swings or lies dead.
func (o owner) gauge(c *Car, u, sound driven, d draws, sign func(string, float64)) {
	swing := 0.0
	for i, x := range u.legs {
		if x.condition == "city" || x.condition == "motorway" {
			swing = math.Max(swing, x.rec.swing-sound.legs[i].rec.swing)
		}
	}
	if swing > d.fact("swing-seen") {
		sign("gauge-swings", 0.5*o.says+d.fact("says-swings"))
	}
	if c.is.needleWanders > 0 {
		sign("gauge-swings", d.fact("says-wanders"))
	}
	if c.has("gauge-fault") != nil && c.is.needleDead > 0 {
		sign("runs-cold", d.fact("says-dead"))
	}
}

// fan tells of a fan that runs more than it did.
func (o owner) fan(c *Car, u, sound driven, d draws, sign func(string, float64)) {
	for i, x := range u.legs {
		if x.condition == "idle" && x.rec.fanShare > math.Max(d.fact("fan-heard"), sound.legs[i].rec.fanShare+0.3) && c.FanKind != Viscous {
			sign("fan-always-on", d.fact("says-fan")*o.says)
		}
	}
	if c.is.sensorOpen > 0 {
		sign("lamp", d.fact("lamp-open"))
		sign("fan-always-on", d.fact("says-fan-open"))
	}
	if c.is.fanStuck > 0 {
		sign("fan-always-on", d.fact("says-fan-stuck"))
	}
}

// heat says when it was hot and when it was not.
func (o owner) heat(k *Complaint, u, sound driven, d draws) (hot bool, worst float64) {
	var when, fine []string
	if u.warmUp.needleTop > o.notices {
		when = append(when, "city")
	}
	for i, x := range u.legs {
		worst = math.Max(worst, x.rec.needleTop)
		if x.rec.needleTop > math.Max(o.notices, sound.legs[i].rec.needleTop+d.fact("hotter-seen")) {
			if !slices.Contains(when, x.condition) {
				when = append(when, x.condition)
			}
		} else if x.rec.needleTop < o.notices-8 && x.condition != "after-restart" && x.condition != "towing" {
			fine = append(fine, x.condition)
		}
	}
	if len(when) == 0 {
		return false, worst
	}
	all := true
	for _, x := range []string{"idle", "city", "motorway", "climb"} {
		all = all && slices.Contains(when, x)
	}
	if all && d.may("says-always") {
		k.When = []string{"always"}
		return true, worst
	}
	for _, x := range when {
		if d.may("says-when") {
			k.When = append(k.When, x)
		}
	}
	for _, x := range fine {
		if d.may("says-fine") && !slices.Contains(k.When, x) {
			k.Fine = append(k.Fine, x)
		}
	}
	return true, worst
}

// cold says what is wrong with warming up and with the heater.
func (o owner) cold(c *Car, dy day, u, sound driven, d draws, sign func(string, float64)) {
	runs, blows := false, false
	for i, x := range u.legs {
		if x.condition == "motorway" || x.condition == "city" {
			was := sound.legs[i].rec
			runs = runs || x.rec.needleLow < math.Min(d.fact("cold-seen"), was.needleLow-d.fact("colder-seen"))
			blows = blows || x.rec.ventMean < math.Min(d.fact("vent-felt"), was.ventMean-d.fact("colder-seen"))
		}
	}
	if c.is.needleDead == 0 {
		if runs {
			sign("runs-cold", d.fact("says-cold"))
		}
		if u.warmUp.needleTop < math.Min(d.fact("slow-seen"), sound.warmUp.needleTop-d.fact("colder-seen")) {
			sign("slow-to-warm", d.fact("says-slow"))
		}
	}
	if dy.ownerC < d.fact("heater-weather") && blows {
		sign("no-heat", d.fact("says-no-heat"))
	}
}

// coolant says what is lost, and what is smelt and seen of it.
func (o owner) coolant(c *Car, u driven, lost float64, d draws, sign func(string, float64)) {
	weeks := c.is.missing // L, missing by the day it comes in
	if c.has("inner-leak") != nil && weeks > d.fact("loss-seen") {
		sign("loses-coolant", d.fact("says-loss-inner"))
		if c.has("inner-leak").Mode == "cylinder" {
			sign("white-smoke", d.fact("says-smoke-inner"))
		}
	}
	leaks := c.has("coolant-low") != nil || c.has("combustion-leak") != nil && c.is.missing > 0.4 || c.has("cap-weak") != nil && (c.is.missing > 0.3 || lost > 0.3e-3)
	if leaks && weeks+1e3*lost > d.fact("loss-seen") {
		sign("loses-coolant", d.fact("says-loss"))
	} else if lost > 0.5e-3 {
		sign("loses-coolant", d.fact("says-overflow"))
	}
	if c.has("coolant-low") != nil {
		sign("sweet-smell", d.fact("says-smell")*o.says)
		if c.is.leak > 0.5 {
			sign("steam", d.fact("says-steam-leak")*o.says)
		}
		if weeks > 1.2 {
			sign("lamp", d.fact("lamp-level"))
		}
	}
	if f := c.has("combustion-leak"); f != nil {
		p := d.fact("smoke-mild") + d.fact("smoke-more")*f.Severity
		if f.Mode == "drinks" {
			p = d.fact("smoke-drinks-mild") + d.fact("smoke-drinks-more")*f.Severity
		}
		sign("white-smoke", p)
		if f.Mode != "drinks" {
			sign("hard-hose", d.fact("hard-more")*f.Severity+d.fact("hard-mild"))
		}
	}
}
