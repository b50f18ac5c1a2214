// Package store says what it means to keep a shop's jobs, whatever engine keeps
// them.
//
// # Problem
//
// A mechanic who has seen an entry confirmed on his screen never looks at it again. It
// must survive a killed process, a dead battery, two people typing at once, and the same
// phone sending the same thing three times. It must survive a change of mind a week
// later, when somebody asks who wrote what and what stood there before.
//
// # Model
//
// A job is a journal: entries that are added and never changed or taken away.
// An entry opens the job, replaces its head, makes a finding, corrects it, strikes
// it out, takes it back in, notes something, brings a file. What stands now is a
// fold over the journal ([Fold]); what stood before is its beginning. Every
// entry has an id that its author's device chose; the same id sent again gives
// the first entry back, so a device may repeat until it is answered.
//
// Files (logs and photos) are kept whole under a name that is unique in its
// job and are never replaced.
//
// [Store] is all that an engine has to do. Package storetest holds the suite
// that every engine must pass, package sqlite the engine that comes with the
// program. Export and Import write and read one job as one file through the
// interface, so a job moves between engines.
//
// # Assumptions
//
// One shop's jobs: thousands of jobs, tens of entries each, files of some
// megabytes. The device's clock may be wrong: Entry.Entered is what it said,
// Entry.At what the keeper's clock said, and order is neither but Entry.Seq.
//
// # Where it stops being true
//
// Of two corrections of one finding the later stands. Both stay in the journal
// and [State] says which one overtook another that its author had not seen, but
// nobody is asked to settle it. Jobs are not encrypted on disk: whoever can
// read the folder can read them.
//
// # Sources
//
// The journal as the only truth: common practice, no source. UUIDs as ids: RFC
// 9562.
package store
