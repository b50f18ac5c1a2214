// Package work opens a job for questions: what is wrong, what to do next, whether
// the repair is proven, and what the repair takes.
//
// Problem: a job file holds words, readings with units, logs on disk and repairs
// in the order made. The lineup, the plan and the proof need numbers of the
// circuit, ids of the catalogues, and the history parted at the last repair.
// Model: Open reads a job and joins it with a model into one Work. Whatever does
// not fit is reported with its file, line and field. The command line, the bench
// and the printed pages all ask the same Work, so they cannot disagree. It answers
// with facts; package answer puts them into words.
//
// The last repairs in a row are the ones to prove. Findings before them weigh the
// lineup; findings after them are evidence for or against the repair. A repair
// known to have changed nothing is a finding like any other.
//
// Assumptions: a reading without its own air temperature was taken in the shop's.
// A job that names no air temperature was seen at DefaultAmbientC. A quote is weak
// evidence for the cause it presumes. A repair with nothing found after it is not
// proven by its "changed" word alone, since that word is weak evidence.
//
// Where it stops being true: a repair done between two jobs is not known here;
// write it down in this one. On the repair sheet, volumes and pressures that the
// job does not give are those usual for the engine's size, and are marked so.
//
// Sources: steps.yaml names those of the repair sheet; for the rest see packages
// lineup, plan, proof and coolant.
package work
