package circuit

// jacobian holds the linear part of the equations: conductances, and how the
// valve's lift answers to the wax, over heat capacities, in 1/s. What it
// leaves out (the cold factor, the grille's rise, the fan clutch) is slow,
// and the method keeps its order for any such approximation.
type jacobian struct {
	metalCoolant, metalBlock     float64
	metalSelf, coolantSelf       float64 // what metal and coolant give to each other by their own kelvin
	blockMetal, blockLoss        float64
	coolantMetal, coolantLoss    float64
	coolantCell, coolantWax      float64
	through, core                float64
	wax                          [tubeCells]float64 // d(dT_cell/dt)/dT_wax
	waxRate, waxCoolant, waxCell float64
	sensorRate, sensorSees       float64

	// Factored for one step length.
	g                      float64
	block, metal           float64
	metalOfCoolant         float64
	cell                   float64
	cellOfCoolant          [tubeCells]float64
	cellOfWax              [tubeCells]float64
	a11, a12, a21, a22, id float64
	sensor, clutch         float64
}

// linearise fills in the Jacobian at y, where the equations gave t.
func (p *plant) linearise(y *vector, stood float64, t *terms, j *jacobian) {
	c := p.c
	j.metalCoolant, j.metalBlock = t.jacket/p.metalCap, p.blockUA/p.metalCap
	j.blockMetal, j.blockLoss = p.blockUA/p.blockCap, p.lossBlock/p.blockCap
	j.coolantSelf = t.jacket / p.coolantCap
	j.metalSelf, j.coolantMetal = (t.jacket+t.wall)/p.metalCap, (t.jacket+t.wall)/p.coolantCap
	j.coolantCell = t.radiator / p.coolantCap
	loss := p.lossUA + t.heaterG
	if t.boiling {
		loss += boilUA
	}
	j.coolantLoss = loss / p.coolantCap
	j.through, j.core = t.radiator/p.cellCap, t.core/p.cellCap
	j.waxRate = 1 / c.WaxLag
	j.waxCoolant, j.waxCell = t.returnShare*j.waxRate, t.coreWay*j.waxRate
	j.sensorRate = 1 / c.SensorLag
	j.sensorSees = 1 - p.sensorMisses(y[iCoolant]) // how the share moves with it hardly matters: nothing depends on the sensor within a step
	j.coolantWax = 0
	j.wax = [tubeCells]float64{}
	nudge := numerics.WaxNudge.Value
	travel := p.liftAt(y[iWax], stood)
	moved := p.liftAt(y[iWax]+nudge, stood)
	if moved == travel {
		moved = travel - (p.liftAt(y[iWax]-nudge, stood) - travel)
	}
	if moved == travel {
		return
	}
	var near flows
	if p.network(moved, &near) == t.lift {
		return
	}
	dw := (near.radiator - t.radiator) / nudge
	dg := (p.coreAt(near.radiator) - t.core) / nudge
	j.coolantWax = dw * (y[iCell3] - y[iCoolant]) / p.coolantCap
	upstream := y[iCoolant]
	for i := range tubeCells {
		cell := y[iCell1+i]
		j.wax[i] = (dw*(upstream-cell) - dg*(cell-t.airC)) / p.cellCap
		upstream = cell
	}
}

// factor eliminates I - g J down to two unknowns, coolant and wax.
func (j *jacobian) factor(g float64) {
	j.g = g
	j.block = 1 / (1 + g*(j.blockMetal+j.blockLoss))
	j.metal = 1 / (1 + g*(j.metalSelf+j.metalBlock) - g*g*j.metalBlock*j.blockMetal*j.block)
	j.metalOfCoolant = g * j.metalCoolant * j.metal
	j.cell = 1 / (1 + g*(j.through+j.core))
	pass := g * j.through * j.cell
	j.cellOfCoolant[0] = pass
	j.cellOfWax[0] = g * j.wax[0] * j.cell
	for i := 1; i < tubeCells; i++ {
		j.cellOfCoolant[i] = pass * j.cellOfCoolant[i-1]
		j.cellOfWax[i] = pass*j.cellOfWax[i-1] + g*j.wax[i]*j.cell
	}
	const last = tubeCells - 1
	j.a11 = 1 + g*(j.coolantSelf+j.coolantCell+j.coolantLoss) -
		g*j.coolantMetal*j.metalOfCoolant - g*j.coolantCell*j.cellOfCoolant[last]
	j.a12 = -g*j.coolantWax - g*j.coolantCell*j.cellOfWax[last]
	j.a21 = -g*j.waxCoolant - g*j.waxCell*j.cellOfCoolant[last]
	j.a22 = 1 + g*j.waxRate - g*j.waxCell*j.cellOfWax[last]
	j.id = 1 / (j.a11*j.a22 - j.a12*j.a21)
	j.sensor = 1 / (1 + g*j.sensorRate)
	j.clutch = 1 / (1 + g/clutchLag)
}

// solve gives x with (I - g J) x = r. x may be r.
func (j *jacobian) solve(r, x *vector) {
	g := j.g
	blockPart := r[iBlock] * j.block
	metalPart := (r[iMetal] + g*j.metalBlock*blockPart) * j.metal
	pass := g * j.through * j.cell
	cell1 := r[iCell1] * j.cell
	cell2 := r[iCell2]*j.cell + pass*cell1
	cell3 := r[iCell3]*j.cell + pass*cell2
	r1 := r[iCoolant] + g*j.coolantMetal*metalPart + g*j.coolantCell*cell3
	r2 := r[iWax] + g*j.waxCell*cell3
	coolant := (r1*j.a22 - j.a12*r2) * j.id
	wax := (j.a11*r2 - j.a21*r1) * j.id
	sensor := (r[iSensor] + g*j.sensorRate*j.sensorSees*coolant) * j.sensor
	clutch := r[iClutch] * j.clutch
	metal := metalPart + j.metalOfCoolant*coolant
	*x = vector{
		iMetal:   metal,
		iBlock:   blockPart + g*j.blockMetal*j.block*metal,
		iCoolant: coolant,
		iCell1:   cell1 + j.cellOfCoolant[0]*coolant + j.cellOfWax[0]*wax,
		iCell2:   cell2 + j.cellOfCoolant[1]*coolant + j.cellOfWax[1]*wax,
		iCell3:   cell3 + j.cellOfCoolant[2]*coolant + j.cellOfWax[2]*wax,
		iWax:     wax,
		iSensor:  sensor,
		iClutch:  clutch,
	}
}
