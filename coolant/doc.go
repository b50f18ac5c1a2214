// Package coolant gives the properties of glycol-water mixes as engines use them:
// density, heat capacity, conductivity, viscosity, freezing and boiling points, the
// pressure of the air at altitude, and the arithmetic of draining and refilling.
//
// # Problem
//
// A mechanic asks at what temperature this mix freezes, at what temperature it boils under
// this cap at this altitude, and what to drain and add to make it right. A simulation of
// the cooling circuit asks for the same properties millions of times.
//
// # Model
//
// Density, heat capacity, conductivity and viscosity are the polynomials of Melinder 2010 in
// temperature and mass fraction. Freezing and the conversion from volume to mass fraction
// are the tables of the ASHRAE handbook 2001, because for ethylene glycol the Melinder curve
// promises up to 2.9 K more protection than ASHRAE and the other public tables. Boiling is the bubble point of an
// ideal solution: water by IAPWS-IF97, glycol by an Antoine equation, Raoult's law between
// them. Air pressure is the ICAO standard atmosphere. Drain and refill adds volumes and mixes
// perfectly.
//
// Every coefficient stands in the files of the data folder with its source.
//
// # Assumptions, and where they stop being true
//
//   - Pure glycol and water. Commercial concentrate holds some water and additives: at 70 %
//     concentrate public tables boil about 3 K lower than this model, and freeze a little higher.
//   - Propylene glycol boiling is uncertain: at 50 mass percent two other models give 3 to 5 K
//     less than Raoult's law, in stronger mixes up to 8 K less, and no measurement was found to
//     decide between them. Mix.BoilingDoubtK says how much to allow.
//   - Properties are known up to 60 mass percent (57.8 volume percent ethylene, 60 propylene)
//     and from the freezing point to 100 degC. Up to 130 degC the polynomials are carried on.
//     Above 60 mass percent functions that return an error say so, and a Mix estimates
//     (Mix.Estimated tells): straight lines to pure glycol, whose figures are from memory.
//     Boiling covers 0 to 100 %.
//   - Freezing means the first ice crystals, not a burst block. Protection is stated from it.
//   - Contraction on mixing (under 1 % of volume) is ignored in drain-and-refill arithmetic.
//   - Dissolved gas, surface boiling and pump suction are not modelled.
//
// # Sources
//
// Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010, and ASHRAE
// Handbook Fundamentals 2001, both as carried by CoolProp (MIT); IAPWS R7-97(2012); the
// chemicals library (MIT) for glycol vapour pressures. Row by row in data/.
package coolant
