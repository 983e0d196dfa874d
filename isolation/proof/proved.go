package proof

import (
	"encoding/json"

	"stillwatch/isolation"
)

// Proved is a plan that the second algorithm has agreed with. Its field is not exported and no other function of this
// package fills it, so only Prove makes one: the compiler, not a habit, keeps a plan that was not checked from being
// requested, authorised or printed. That is why the type stands here and not with the other nouns, where every package
// beside them could have made one through a constructor that the proof would need too. The zero value is no plan.
type Proved struct{ plan isolation.Plan }

// Plan returns the proved plan; it is to be read only.
func (p Proved) Plan() *isolation.Plan { return &p.plan }

// IsZero reports whether there is no plan.
func (p Proved) IsZero() bool { return p.plan.Job == "" }

// MarshalJSON writes the plan for the log.
func (p Proved) MarshalJSON() ([]byte, error) { return json.Marshal(p.plan) }

// UnmarshalJSON reads back a plan that was proved when it was written. It exists for the register, which reads only
// entries whose hash stands in the tree; authorising proves the plan again all the same.
func (p *Proved) UnmarshalJSON(text []byte) error { return json.Unmarshal(text, &p.plan) }
