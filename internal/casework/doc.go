// Package casework turns a job, as a mechanic writes it, into the case that a
// lineup weighs and the shop that a plan is made for.
//
// It joins what the layers above know apart: the words of the job file, the ids
// of the catalogues, the numbers of the circuit and the logs on disk. Whatever
// does not fit is reported with the file, line and field it stands in.
//
// Assumptions: a reading without an ambient of its own was taken in the shop's;
// a job that names no ambient at all was seen at DefaultAmbientC; the other
// shop's quote is weak evidence for the cause it presumes and none for the rest.
package casework
