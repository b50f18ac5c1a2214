package drawing

// rect is a rectangle of the sheet, from its upper left corner.
type rect struct{ x, y, w, h float64 }

func (r rect) right() float64  { return r.x + r.w }
func (r rect) bottom() float64 { return r.y + r.h }

type point struct{ x, y float64 }

// spot is where a place is: its frame, what takes a tap, its name, and the plate
// of its reading.
type spot struct {
	frame  rect
	hit    rect
	text   point
	anchor string // of the name: start, middle, end
	leader string // SVG path, beginning on the part
	plate  rect   // of a temperature; none where w is 0
	above  bool   // the name stands above its part: what was read pushes it up
}

// layout is a composition: where each part and its name are.
type layout struct {
	name       string
	w, h, cell float64
	line       float64 // of lettering
	hose, pipe float64 // widths

	radiator, tank, fan, stat, block, heater rect
	elbow                                    rect // the engine's outlet where the thermostat sits on the inlet; none where w is 0
	pump, crank                              point
	pumpR, crankR                            float64
	cap                                      point // middle of its foot
	sensor, gauge                            point
	upper, lower                             []point // middles of the hoses, from the hot end
	bypass                                   []point
	out, back                                []point // of the heater
	scale                                    rect    // the key of the temperatures
	spots                                    map[string]spot
}

// desk is the composition for a wide page.
func desk(car CarView) layout {
	l := layout{
		name: "desk", w: 920, h: 600, cell: 20, line: 18, hose: 24, pipe: 12,
		radiator: rect{30, 190, 235, 270}, tank: rect{326, 150, 54, 70}, fan: rect{306, 238, 160, 160},
		stat: rect{500, 148, 78, 68}, block: rect{596, 150, 212, 250}, heater: rect{826, 250, 54, 90},
		pump: point{546, 352}, pumpR: 34, crank: point{600, 446}, crankR: 22,
		cap: point{251, 190}, sensor: point{790, 142}, gauge: point{842, 104},
		upper:  []point{{46, 200}, {46, 116}, {400, 116}, {470, 182}, {506, 182}},
		lower:  []point{{260, 440}, {300, 440}, {340, 484}, {480, 484}, {480, 360}, {520, 352}},
		bypass: []point{{545, 214}, {545, 322}}, out: []point{{806, 192}, {852, 192}, {852, 252}},
		back: []point{{852, 338}, {852, 378}, {800, 378}, {596, 378}}, scale: rect{660, 520, 236, 10},
	}
	l.spots = map[string]spot{
		"upper-hose": {rect{60, 102, 330, 28}, rect{60, 88, 340, 54}, point{225, 92}, "middle", "M225 104V92", rect{92, 22, 218, 66}, true},
		"lower-hose": {rect{335, 470, 150, 28}, rect{318, 458, 170, 54}, point{410, 520}, "middle", "M410 496V508", rect{306, 520, 218, 66}, false},
		"radiator":   {rect{28, 188, 239, 274}, rect{26, 240, 230, 224}, point{145, 482}, "middle", "", rect{36, 498, 218, 66}, false},
		"cap":        {rect{236, 164, 30, 24}, rect{206, 138, 62, 48}, point{228, 168}, "end", "M240 176L232 170", rect{}, false},
		"neck":       {rect{236, 190, 30, 18}, rect{238, 188, 62, 50}, point{271, 208}, "start", "", rect{}, false},
		"tank":       {rect{324, 148, 58, 74}, rect{312, 140, 110, 88}, point{390, 176}, "start", "", rect{}, false},
		"fan":        {rect{304, 236, 164, 164}, rect{304, 236, 164, 186}, point{386, 418}, "middle", "", rect{}, false},
		"thermostat": {rect{500, 146, 80, 72}, rect{478, 140, 102, 104}, point{540, 130}, "middle", "M532 152V136", rect{}, true},
		"head":       {rect{596, 150, 212, 60}, rect{600, 144, 176, 66}, point{680, 120}, "middle", "M680 158V126", rect{}, true},
		"sensor":     {rect{778, 122, 26, 30}, rect{772, 104, 48, 52}, point{814, 148}, "start", "M796 142L811 144", rect{}, false},
		"gauge":      {rect{808, 68, 68, 44}, rect{806, 62, 80, 50}, point{842, 58}, "middle", "", rect{}, true},
		"heater":     {rect{824, 248, 58, 94}, rect{816, 246, 76, 132}, point{868, 364}, "start", "", rect{}, false},
		"pump":       {rect{512, 318, 68, 68}, rect{500, 312, 82, 78}, point{554, 284}, "start", "M556 322L562 306", rect{}, false},
		"belt":       {rect{574, 420, 52, 52}, rect{548, 394, 78, 84}, point{640, 480}, "start", "M618 456L638 472", rect{}, false},
		"engine":     {rect{596, 214, 212, 186}, rect{596, 214, 208, 186}, point{702, 348}, "middle", "", rect{}, false},
	}
	if car.Inlet {
		l.elbow, l.stat = l.stat, rect{462, 328, 44, 50}
		l.lower = []point{{260, 440}, {300, 440}, {340, 484}, {482, 484}, {482, 372}}
		l.bypass = []point{{540, 214}, {540, 296}, {486, 296}, {486, 332}}
		l.spots["thermostat"] = spot{rect{460, 326, 48, 54}, rect{454, 316, 54, 70}, point{500, 480}, "start", "M500 372V464", rect{}, false}
		l.spots["pump"] = spot{rect{512, 318, 68, 68}, rect{510, 312, 74, 78}, point{556, 306}, "start", "M556 324L560 311", rect{}, false}
	}
	if car.Tank == "pressurised" {
		l.cap = point{353, 156}
		l.spots["cap"] = spot{rect{338, 132, 30, 24}, rect{320, 128, 66, 48}, point{374, 148}, "start", "M364 145L372 143", rect{}, true}
		l.spots["tank"] = spot{rect{324, 154, 58, 68}, rect{312, 178, 110, 52}, point{390, 196}, "start", "", rect{}, false}
		l.tank = rect{326, 156, 54, 66}
	}
	if car.Radiator == "downflow" {
		l.upper = []point{{110, 206}, {110, 116}, {400, 116}, {470, 182}, {506, 182}}
		u := l.spots["upper-hose"]
		u.frame, u.hit = rect{120, 102, 270, 28}, rect{96, 88, 200, 54}
		l.spots["upper-hose"] = u
	}
	return l
}

// phone is the composition for a narrow page: the same parts closer together.
func phone(car CarView) layout {
	l := layout{
		name: "phone", w: 374, h: 514, cell: 17, line: 16, hose: 17, pipe: 9,
		radiator: rect{10, 150, 108, 190}, tank: rect{136, 128, 34, 48}, fan: rect{124, 214, 54, 76},
		stat: rect{212, 122, 40, 42}, block: rect{256, 124, 90, 170}, heater: rect{330, 316, 34, 52},
		pump: point{232, 262}, pumpR: 22, crank: point{262, 334}, crankR: 14,
		cap: point{106, 150}, sensor: point{334, 116}, gauge: point{346, 54},
		upper:  []point{{20, 158}, {20, 104}, {150, 104}, {196, 142}, {214, 142}},
		lower:  []point{{114, 324}, {140, 324}, {158, 352}, {206, 352}, {206, 270}, {216, 262}},
		bypass: []point{{232, 162}, {232, 242}}, scale: rect{12, 466, 200, 9},
	}
	l.out = []point{{344, 160}, {362, 160}, {362, 300}, {354, 318}}
	l.back = []point{{330, 356}, {304, 356}, {304, 292}}
	l.spots = map[string]spot{
		"upper-hose": {rect{26, 94, 124, 20}, rect{24, 82, 56, 52}, point{92, 82}, "middle", "M92 96V88", rect{10, 8, 184, 64}, true},
		"lower-hose": {rect{158, 342, 48, 20}, rect{150, 318, 58, 52}, point{182, 388}, "middle", "M184 361V374", rect{130, 392, 184, 64}, false},
		"radiator":   {rect{8, 148, 112, 194}, rect{8, 208, 100, 136}, point{62, 360}, "middle", "", rect{}, false},
		"cap":        {rect{96, 132, 22, 18}, rect{78, 100, 50, 50}, point{90, 142}, "end", "", rect{}, true},
		"neck":       {rect{96, 150, 22, 12}, rect{78, 152, 50, 50}, point{122, 207}, "start", "M110 158L122 194", rect{}, true},
		"tank":       {rect{134, 126, 38, 52}, rect{132, 124, 56, 60}, point{175, 180}, "start", "", rect{}, false},
		"fan":        {rect{122, 212, 58, 80}, rect{122, 208, 66, 96}, point{126, 306}, "start", "", rect{}, false},
		"thermostat": {rect{210, 120, 44, 46}, rect{192, 118, 62, 60}, point{232, 82}, "middle", "M232 126V88", rect{}, true},
		"head":       {rect{256, 124, 90, 40}, rect{256, 124, 60, 50}, point{260, 105}, "start", "", rect{}, true},
		"sensor":     {rect{326, 98, 16, 28}, rect{316, 92, 54, 60}, point{372, 92}, "end", "", rect{}, true},
		"gauge":      {rect{320, 28, 52, 34}, rect{316, 10, 56, 62}, point{370, 22}, "end", "", rect{}, true},
		"heater":     {rect{328, 314, 38, 56}, rect{322, 310, 52, 62}, point{370, 386}, "end", "", rect{}, false},
		"pump":       {rect{210, 240, 44, 44}, rect{206, 236, 50, 50}, point{228, 214}, "end", "", rect{}, false},
		"belt":       {rect{246, 318, 32, 32}, rect{232, 298, 52, 52}, point{262, 368}, "middle", "", rect{}, false},
		"engine":     {rect{256, 166, 90, 128}, rect{258, 176, 88, 116}, point{301, 273}, "middle", "", rect{}, false},
	}
	if car.Inlet {
		l.elbow, l.stat = l.stat, rect{196, 286, 24, 28}
		l.lower = []point{{114, 324}, {140, 324}, {158, 352}, {208, 352}, {208, 310}}
		l.bypass = []point{{220, 162}, {220, 204}, {203, 214}, {203, 288}}
		l.spots["thermostat"] = spot{rect{194, 284, 28, 32}, rect{186, 274, 48, 48}, point{248, 209}, "end", "M206 290L212 232", rect{}, false}
		l.spots["pump"] = spot{rect{210, 240, 44, 44}, rect{208, 224, 50, 50}, point{226, 300}, "start", "", rect{}, false}
		f := l.spots["fan"]
		f.hit = rect{122, 208, 60, 96}
		l.spots["fan"] = f
		h := l.spots["lower-hose"]
		h.hit = rect{140, 324, 50, 48}
		l.spots["lower-hose"] = h
	}
	if car.Tank == "pressurised" {
		l.cap = point{153, 128}
		l.spots["cap"] = spot{rect{142, 108, 22, 20}, rect{128, 80, 50, 50}, point{132, 126}, "end", "", rect{}, false}
	}
	if car.Radiator == "downflow" {
		l.upper = []point{{44, 155}, {44, 104}, {150, 104}, {196, 142}, {214, 142}}
	}
	return l
}
