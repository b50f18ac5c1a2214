package say

// carWords are what the job file's vehicle keys can say in words.
var carWords = []struct{ key, word, says string }{
	{"fuel", "petrol", "petrol engine"}, {"fuel", "diesel", "diesel engine"}, {"fuel", "gas", "runs on propane gas"},
	{"kind", "car", "passenger car"}, {"kind", "van", "van"}, {"kind", "pickup", "pickup truck"}, {"kind", "truck", "lorry"}, {"kind", "bus", "bus"},
	{"kind", "motorhome", "motorhome"}, {"kind", "tractor", "tractor"}, {"kind", "motorcycle", "motorcycle"},
	{"fan.kind", "electric", "has an electric fan"}, {"fan.kind", "two-speed", "has a two-speed electric fan"}, {"fan.kind", "viscous", "has a viscous clutch fan"},
	{"fan.kind", "viscous-electric", "has a clutch fan and an electric one"}, {"fan.kind", "electric-clutch", "has a fan with an electromagnetic clutch"},
	{"fan.kind", "hydraulic", "has a hydraulic fan"}, {"fan.kind", "belt", "has a belt-driven fan without a clutch"}, {"fan.kind", "none", "has no fan"},
	{"pump", "belt", "belt-driven pump"}, {"pump", "timing-belt", "pump driven by the timing belt"}, {"pump", "electric", "electric pump"}, {"pump", "none", "has no pump"},
	{"thermostat.kind", "map-controlled", "map-controlled thermostat"}, {"thermostat.kind", "motor-valve", "thermostat valve driven by a motor"}, {"thermostat.kind", "none", "built without a thermostat"},
	{"tank", "overflow", "overflow bottle"}, {"tank", "pressurised", "pressurised expansion tank"},
	{"radiator", "crossflow", "crossflow radiator"}, {"radiator", "downflow", "downflow radiator"},
	{"air-con", "yes", "it has air conditioning"}, {"air-con", "no", "it has no air conditioning"}, {"hybrid", "yes", "hybrid"},
	{"mileage", "", "mileage"}, {"year", "", "model year"}, {"displacement", "", "engine size"}, {"cylinders", "", "number of cylinders"}, {"cap", "", "pressure on the cap"},
}
