package store

import "time"

// VerdictState says which of its facts a verdict has.
type VerdictState string

// The states of a verdict.
const (
	VerdictNone        VerdictState = ""             // nothing is known yet
	VerdictProblem     VerdictState = "problem"      // the job cannot be worked out; Says tells why
	VerdictRough       VerdictState = "rough"        // a first count; a finer one follows. No part is named
	VerdictSettled     VerdictState = "settled"      // a cause leads
	VerdictNothingFits VerdictState = "nothing-fits" // no cause explains the findings; Says tells more
	VerdictRepaired    VerdictState = "repaired"     // repairs were done; whether they hold is the proof's to say
)

// VerdictProof is what is known of the proof of a repair.
type VerdictProof string

// The states of a proof.
const (
	ProofOpen   VerdictProof = ""        // not decided, or not worked out yet
	ProofWhole  VerdictProof = "proven"  // the repair holds
	ProofAsSeen VerdictProof = "as-seen" // it holds as far as could be seen
	ProofFailed VerdictProof = "failed"  // the fault may still be there
)

// Verdict is an answer in short: facts for a list of jobs, which puts them into words.
type Verdict struct {
	State   VerdictState `json:"state"`
	Cause   string       `json:"cause,omitempty"`   // id of the cause that leads, or, after a repair, of what it turned out to be; "" in rows that an older program kept
	Name    string       `json:"name,omitempty"`    // what it is called
	Percent string       `json:"percent,omitempty"` // its probability, as exact as the answer is
	Says    string       `json:"says,omitempty"`    // what there is to say where no cause is named
	Repairs []string     `json:"repairs,omitempty"` // names of the repairs done
	Proof   VerdictProof `json:"proof,omitempty"`   // of them
	Judged  int64        `json:"judged,omitempty"`  // Seq of the newest entry that the proof had seen; 0 in rows that an older program kept, and where a proof is open
	Step    string       `json:"step,omitempty"`    // what to do next: the action's id; "" in rows that an older program kept
	Next    string       `json:"next,omitempty"`    // what it is called
	Made    time.Time    `json:"made,omitzero"`     // when it was worked out; zero in rows that an older program kept, and where a proof is open
}
