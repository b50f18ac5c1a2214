package store

import (
	"context"
	"encoding/json"
	"errors"
	"time"
)

// Kind says what an entry does to its job.
type Kind string

// The kinds of entry. Body is what each carries.
const (
	Opened      Kind = "opened"    // the job's head: a job file without its findings
	HeadChanged Kind = "told"      // the head replaced
	Found       Kind = "found"     // a finding, as in a job file
	Corrected   Kind = "corrected" // the finding replaced
	Struck      Kind = "struck"    // {"why": "..."}
	Restored    Kind = "restored"  // nothing
	Noted       Kind = "noted"     // {"text": "..."}, or {"undone": "id"} of a note that was taken back
	Brought     Kind = "brought"   // {"file": "name"}
	Removed     Kind = "removed"   // {"file": "name"}: the file's content is gone
	Archived    Kind = "archived"  // nothing
	Reopened    Kind = "reopened"  // nothing
)

// Entry is one line of a job's journal. It is never changed.
type Entry struct {
	Job     string          `json:"job"`               // the job's id
	Seq     int64           `json:"seq"`               // order in the job, from 1; the store gives it
	ID      string          `json:"id"`                // chosen by the author's device, unique in the job
	At      time.Time       `json:"at"`                // when it was kept, UTC, to the millisecond; zero lets the store's clock say, an import brings its own
	Entered time.Time       `json:"entered"`           // when it was typed, by the device's clock; At if that is not known
	Who     string          `json:"who"`               // as the author calls himself
	Kind    Kind            `json:"kind"`              // what it does
	Finding string          `json:"finding,omitempty"` // id of the finding concerned: the id of the entry that found it
	Seen    int64           `json:"seen,omitempty"`    // Seq of the newest entry that the author had before him; 0 not known
	Body    json.RawMessage `json:"body,omitempty"`
	// Over makes keeping the entry depend on what stands: it is the Seq of the
	// entry that this one is written over, the newest of the finding concerned or
	// of the head. When something newer stands by then, the entry is refused with
	// ErrOvertaken. 0 asks for nothing. It is a condition and is not kept.
	Over int64 `json:"-"`
}

// Change is a hint that something of a job is new: an entry, or an answer (with
// its stage).
type Change struct {
	Shop  string `json:"shop,omitempty"`
	Job   string `json:"job"`
	Seq   int64  `json:"seq"`
	Who   string `json:"who,omitempty"`
	Stage string `json:"stage,omitempty"`
	// Session, when it is set, ended; the rest says nothing then.
	Session string `json:"session,omitempty"`
}

// Summary is a job as a list shows it. All but the verdict follow from the
// journal.
type Summary struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`      // the job's own name
	Car       string    `json:"car"`       // what the car is called
	Complaint string    `json:"complaint"` // the owner's words, or the signs
	Verdict   Verdict   `json:"verdict"`   // of the newest answer kept
	Findings  int       `json:"standing"`  // findings that are not struck out
	Seq       int64     `json:"seq"`       // of the newest entry
	Archived  bool      `json:"archived"`
	Demo      bool      `json:"demo"` // came with the program and may be removed
	Changed   time.Time `json:"changed"`
	Shop      string    `json:"shop,omitempty"` // its id, in a list of several shops' jobs; no store fills it
}

// Query picks jobs.
type Query struct {
	Words    string    // each word must occur in name, car, complaint or findings' notes; "" all
	Closed   []ByCause // other ways in which a job is found by these words
	Archived bool      // the archived ones instead of those in hand
	Limit    int       // at most; 0 means 200
	From     int       // so many are left out first: where a further page begins
}

// ByCause finds a job whose end names a cause. The words are those that must occur besides.
type ByCause struct{ Cause, Words string }

// Answer is a judgement of a job that is kept so that a page need not wait for
// a new one. It can always be made again from the journal.
type Answer struct {
	Seq     int64           // newest entry that it takes into account
	Stage   string          // "coarse" or "fine"
	Verdict Verdict         // the same in short, for a list
	Body    json.RawMessage // whatever its maker needs
}

// File is a log or a photo brought to a job, without its content.
type File struct {
	Name   string    `json:"name"` // unique in the job, no folders
	Type   string    `json:"type"` // media type
	Size   int64     `json:"size"` // bytes
	SHA256 string    `json:"sha256"`
	At     time.Time `json:"at"`
	Who    string    `json:"who"`
}

// Errors that every engine gives, wrapped, for what they stand for.
var (
	ErrUnknown  = errors.New("no such job, finding, file, person or setting")
	ErrFull     = errors.New("the disk is full")
	ErrReadOnly = errors.New("the data folder cannot be written to")
	ErrDamaged  = errors.New("the database is damaged")
	ErrNewer    = errors.New("the database was written by a newer version of this program")
	ErrTaken    = errors.New("the id is taken by something else")
	// ErrOvertaken: something newer stands than what the author had before him.
	ErrOvertaken = errors.New("something newer stands there by now")
	// ErrGone: the database was moved or deleted while it was open. What was
	// confirmed before is where the file is now.
	ErrGone = errors.New("the database is no longer in its folder")
	// ErrInUse: another bench works on the same folder.
	ErrInUse = errors.New("the data folder is in use by another bench")
	// ErrOpen: others on the machine can read the folder.
	ErrOpen = errors.New("the data folder is open to others on this machine")
	// ErrDisk: the disk failed to read or write what it was asked to.
	ErrDisk = errors.New("the disk failed to do what it was asked")
	// ErrAway: the database server does not answer. Trying later may help.
	ErrAway = errors.New("the database server is away")
)

// InWords is an error of a database server that says in plain words what the server's
// trouble is. It is one of the errors above too, whose words speak of a folder.
type InWords interface {
	error
	InWords() string
}

// Differs says that something of a job that is taken in has another content here
// under the same id or name. It stands for ErrTaken.
type Differs struct{ What string } // "entry 7"

func (d *Differs) Error() string {
	return d.What + " differs from the one kept here under the same name"
}

// Is makes a Differs an ErrTaken.
func (d *Differs) Is(target error) bool { return target == ErrTaken }

// Journal keeps jobs.
type Journal interface {
	// Append adds an entry and returns it with Seq and At. An entry whose ID the
	// job has already is not added again: the first one is returned, and false;
	// when the two say different things the error is ErrTaken. Opened makes the
	// job; every other kind needs it (ErrUnknown), and those that concern a
	// finding need the finding. With Over, what stands must not be newer, else
	// the newest entry there is returned with ErrOvertaken. When Append has
	// returned without error the entry survives the process, the system and the
	// power failing.
	Append(ctx context.Context, e Entry) (kept Entry, added bool, err error)
	// Take takes in a job from elsewhere: its entries in order, and its files,
	// whose contents are asked for one by one. All of it is kept or nothing.
	// What is there already stays as it is; what differs is refused (Differs).
	// It returns how many entries were new.
	Take(ctx context.Context, job string, entries []Entry, files []File, content func(i int) ([]byte, error)) (added int, err error)
	// Entries gives a job's entries after a Seq, in order; ErrUnknown without
	// the job.
	Entries(ctx context.Context, job string, after int64) ([]Entry, error)
	// Jobs lists jobs, the last changed first.
	Jobs(ctx context.Context, q Query) ([]Summary, error)
	// Job gives one job's summary; ErrUnknown without the job.
	Job(ctx context.Context, job string) (Summary, error)
	// MarkDemo says that a job came with the program.
	MarkDemo(ctx context.Context, job string) error
	// RemoveDemo takes away a demo job and all of it. Other jobs cannot be
	// removed: ErrUnknown.
	RemoveDemo(ctx context.Context, job string) error
}

// Answers keeps the newest judgement of each job.
type Answers interface {
	// KeepAnswer replaces the job's answer unless the one kept knows more
	// entries, or as many and is the finer.
	KeepAnswer(ctx context.Context, job string, a Answer) error
	// Answer gives the job's answer, ErrUnknown when there is none.
	Answer(ctx context.Context, job string) (Answer, error)
}

// Files keeps logs and photos.
type Files interface {
	// PutFile keeps content under the name, or under a name made of it when a
	// different content has it; the same content again is the same file. The name
	// of a file that was removed is not given again.
	PutFile(ctx context.Context, job string, f File, content []byte) (File, error)
	// Bring does so together with the entry that tells of it (Brought; its body is
	// made here): both are kept or neither. An entry whose ID the job has already
	// gives the file that it brought, and false; another content is ErrTaken.
	Bring(ctx context.Context, e Entry, f File, content []byte) (File, Entry, bool, error)
	// RemoveFile takes a file's content away and keeps the entry that tells of it
	// (Removed; its body is made here), both or neither. ErrUnknown without the
	// file; an entry that was kept already is given again, and false.
	RemoveFile(ctx context.Context, e Entry, name string) (Entry, bool, error)
	// File gives a file with its content.
	File(ctx context.Context, job, name string) (File, []byte, error)
	// Files lists a job's files in the order they came.
	Files(ctx context.Context, job string) ([]File, error)
}

// ShopSettings keeps the shop's settings.
type ShopSettings interface {
	// Setting gives the value of a key, ErrUnknown when it was never set.
	Setting(ctx context.Context, key string) (string, error)
	// Set sets it.
	Set(ctx context.Context, key, value string) error
	// SetOver sets it where before stands; "" is one that was never set or is empty.
	// Where something else stands by then it is refused with ErrOvertaken.
	SetOver(ctx context.Context, key, before, value string) error
}

// Ledger keeps the lines of the shop's tally, which are only ever added to.
type Ledger interface {
	// TallyLines gives all lines in the order kept.
	TallyLines(ctx context.Context) ([]json.RawMessage, error)
	// AddTallyLines adds lines, all or none, when there are after lines so far;
	// otherwise somebody else was quicker (ErrOvertaken): read again and decide.
	AddTallyLines(ctx context.Context, after int, lines ...json.RawMessage) error
}

// Follower is a store that several benches may share: it tells of what others do.
type Follower interface {
	// Follow tells of changes by others until the context ends; within a second
	// of the change where the store can be reached. A change may be told twice,
	// and after a time without connection only as the newest of its job.
	Follow(ctx context.Context, tell func(Change))
	// Claim tells whether this bench is to work out the answer of a job as of a
	// Seq. Others are kept from it for so long; then, or for a newer Seq, it can
	// be claimed again. That is how a bench that died blocks nobody.
	Claim(ctx context.Context, job string, seq int64, lasts time.Duration) (bool, error)
}

// Store is all that an engine does. It may be used from many goroutines.
type Store interface {
	Journal
	Answers
	Files
	ShopSettings
	Sessions
	People
	Ledger
	// Backup writes everything, as it stands at one moment, into one new file,
	// while others go on writing.
	Backup(ctx context.Context, path string) error
	// Check tells whether entries could be kept now, without keeping anything:
	// nil, ErrFull, ErrReadOnly, ErrDamaged, ErrGone, ErrAway.
	Check(ctx context.Context) error
	Close() error
}
