package coolant

// The equations of water reach further than the public functions; their published
// verification values lie out there.

// WaterPressurePa is the saturation pressure of water in Pa at tK.
func WaterPressurePa(tK float64) float64 {
	p, _ := data().waterPressurePa(tK)
	return p
}

// WaterPressureSlope is its slope in Pa/K.
func WaterPressureSlope(tK float64) float64 {
	_, slope := data().waterPressurePa(tK)
	return slope
}

// WaterBoilingK is the saturation temperature of water in K at pPa.
func WaterBoilingK(pPa float64) float64 { return data().waterBoilingK(pPa) }
