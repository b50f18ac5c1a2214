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
func desk() layout {
	l := layout{
		name: "desk", w: 920, h: 600, cell: 20, line: 18, hose: 24, pipe: 12,
		radiator: rect{30, 190, 235, 270}, tank: rect{318, 150, 54, 70}, fan: rect{306, 238, 160, 160},
		stat: rect{500, 148, 78, 68}, block: rect{596, 150, 212, 250}, heater: rect{826, 250, 54, 90},
		pump: point{546, 352}, pumpR: 34, crank: point{600, 446}, crankR: 22,
		cap: point{251, 190}, sensor: point{790, 142}, gauge: point{842, 104},
		upper:  []point{{46, 200}, {46, 116}, {400, 116}, {470, 182}, {506, 182}},
		lower:  []point{{260, 440}, {300, 440}, {340, 484}, {480, 484}, {480, 360}, {520, 352}},
		bypass: []point{{545, 214}, {545, 322}}, out: []point{{806, 192}, {852, 192}, {852, 252}},
		back: []point{{852, 338}, {852, 378}, {800, 378}, {596, 378}}, scale: rect{660, 520, 236, 10},
	}
	l.spots = map[string]spot{
		"upper-hose": {rect{60, 102, 330, 28}, rect{60, 88, 340, 54}, point{225, 92}, "middle", "M225 116V97", rect{92, 22, 218, 66}, true},
		"lower-hose": {rect{335, 470, 150, 28}, rect{318, 458, 170, 54}, point{410, 520}, "middle", "M410 484V505", rect{306, 520, 218, 66}, false},
		"radiator":   {rect{28, 188, 239, 274}, rect{26, 240, 230, 224}, point{145, 502}, "middle", "", rect{36, 498, 218, 66}, false},
		"cap":        {rect{236, 164, 30, 24}, rect{206, 138, 62, 48}, point{228, 168}, "end", "M240 176L232 170", rect{}, false},
		"neck":       {rect{236, 190, 30, 18}, rect{238, 188, 62, 50}, point{274, 208}, "start", "", rect{}, false},
		"tank":       {rect{316, 148, 58, 74}, rect{306, 140, 110, 88}, point{382, 176}, "start", "", rect{}, false},
		"fan":        {rect{304, 236, 164, 164}, rect{304, 236, 164, 186}, point{386, 418}, "middle", "", rect{}, false},
		"thermostat": {rect{500, 146, 80, 72}, rect{478, 140, 102, 104}, point{540, 130}, "middle", "M532 152V136", rect{}, true},
		"head":       {rect{596, 150, 212, 60}, rect{600, 144, 176, 66}, point{680, 120}, "middle", "M680 158V126", rect{}, true},
		"sensor":     {rect{778, 122, 26, 30}, rect{772, 104, 48, 52}, point{814, 148}, "start", "M796 142L811 144", rect{}, false},
		"gauge":      {rect{808, 68, 68, 44}, rect{806, 62, 80, 50}, point{842, 58}, "middle", "", rect{}, true},
		"heater":     {rect{824, 248, 58, 94}, rect{816, 246, 76, 132}, point{868, 364}, "start", "", rect{}, false},
		"pump":       {rect{512, 318, 68, 68}, rect{500, 312, 82, 78}, point{554, 284}, "start", "M556 322L562 306", rect{}, false},
		"belt":       {rect{530, 380, 92, 92}, rect{548, 394, 78, 84}, point{640, 480}, "start", "M618 456L638 472", rect{}, false},
		"engine":     {rect{596, 214, 212, 186}, rect{596, 214, 208, 186}, point{702, 348}, "middle", "", rect{}, false},
	}
	return l
}

// phone is the composition for a narrow page: the same parts closer together.
func phone() layout {
	l := layout{
		name: "phone", w: 374, h: 500, cell: 17, line: 16, hose: 17, pipe: 9,
		radiator: rect{10, 150, 116, 190}, tank: rect{136, 128, 34, 48}, fan: rect{132, 204, 84, 84},
		stat: rect{212, 122, 40, 42}, block: rect{256, 124, 90, 170}, heater: rect{0, 0, 0, 0},
		pump: point{232, 262}, pumpR: 22, crank: point{262, 334}, crankR: 14,
		cap: point{114, 150}, sensor: point{334, 116}, gauge: point{346, 62},
		upper:  []point{{20, 158}, {20, 104}, {150, 104}, {196, 142}, {214, 142}},
		lower:  []point{{122, 324}, {146, 324}, {162, 350}, {206, 350}, {206, 268}, {214, 262}},
		bypass: []point{{232, 162}, {232, 242}}, scale: rect{12, 452, 200, 9},
	}
	l.heater = rect{330, 316, 34, 52}
	l.out = []point{{344, 160}, {362, 160}, {362, 300}, {354, 318}}
	l.back = []point{{330, 356}, {304, 356}, {304, 292}}
	l.spots = map[string]spot{
		"upper-hose": {rect{26, 94, 124, 20}, rect{24, 82, 56, 52}, point{92, 82}, "middle", "M92 104V88", rect{10, 8, 184, 64}, true},
		"lower-hose": {rect{160, 340, 48, 20}, rect{150, 318, 58, 52}, point{182, 384}, "middle", "M184 350V370", rect{130, 380, 184, 64}, false},
		"radiator":   {rect{8, 148, 120, 194}, rect{8, 208, 102, 136}, point{62, 378}, "middle", "", rect{}, false},
		"cap":        {rect{104, 132, 22, 18}, rect{82, 100, 50, 50}, point{100, 142}, "end", "", rect{}, false},
		"neck":       {rect{104, 150, 22, 12}, rect{82, 152, 50, 50}, point{104, 182}, "end", "", rect{}, false},
		"tank":       {rect{134, 126, 38, 52}, rect{132, 124, 56, 76}, point{174, 146}, "start", "", rect{}, false},
		"fan":        {rect{130, 202, 88, 88}, rect{132, 204, 76, 100}, point{134, 305}, "start", "", rect{}, false},
		"thermostat": {rect{210, 120, 44, 46}, rect{192, 118, 62, 60}, point{232, 82}, "middle", "M232 126V88", rect{}, true},
		"head":       {rect{256, 124, 90, 40}, rect{256, 124, 60, 50}, point{266, 116}, "start", "", rect{}, true},
		"sensor":     {rect{326, 98, 16, 28}, rect{316, 92, 54, 60}, point{322, 100}, "end", "", rect{}, false},
		"gauge":      {rect{320, 36, 52, 34}, rect{316, 20, 56, 62}, point{346, 30}, "middle", "", rect{}, true},
		"heater":     {rect{328, 314, 38, 56}, rect{322, 310, 52, 62}, point{347, 386}, "middle", "", rect{}, false},
		"pump":       {rect{210, 240, 44, 44}, rect{206, 236, 50, 50}, point{222, 300}, "start", "", rect{}, false},
		"belt":       {rect{236, 300, 44, 50}, rect{232, 298, 52, 52}, point{262, 366}, "middle", "", rect{}, false},
		"engine":     {rect{256, 166, 90, 128}, rect{258, 176, 88, 116}, point{301, 246}, "middle", "", rect{}, false},
	}
	return l
}
