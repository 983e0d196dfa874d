package permits

import (
	"slices"
	"time"

	"stillwatch/isolation"
)

// Kinds of standing by for others: at the entrance of a space, at hot work.
const (
	KindTakePost  Kind = "take post"
	KindLeavePost Kind = "leave post"
)

// Standing is somebody's time at a post; Until is zero while they stand there.
type Standing struct {
	Post  isolation.Post
	By    PersonID
	Since time.Time
	Until time.Time
	Quiet bool // a fire watch that ended with nothing smouldering
}

// TakePost puts the signer to a post, also in the place of who stands there. Who stands by does nothing else.
type TakePost struct {
	Post isolation.Post `json:"post"`
}

// Kind says which act this is.
func (TakePost) Kind() Kind { return KindTakePost }

func (TakePost) rule() rule { return signedBy("stand by for others", anybody...) }

func (a TakePost) tell(Names, Entry) string { return "stands by: " + string(a.Post) }

func (TakePost) touches(Permit) Touched { return Touched{} }

func (TakePost) aim(_ Permit, at Target) PermitAct { return TakePost{Post: at.Post} }

func (a TakePost) gate(s Setting, p Permit) error {
	const gate = "post"
	who := s.Actor()
	if !slices.Contains(p.Posts(), a.Post) {
		return noSuch(gate, "post", string(a.Post))
	}
	if slices.Contains(p.SignedOn(), who.ID) {
		return refuse(gate, "Somebody else stands by; or sign off first.", "%s is signed on to the work, and who stands by "+
			"does nothing else.", who)
	}
	for _, x := range p.posts {
		if x.By == who.ID && x.Until.IsZero() {
			return refuse(gate, "Leave that post first.", "%s stands by already: %s.", who, x.Post)
		}
	}
	return nil
}

func (TakePost) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (a TakePost) apply(e Entry, p *Permit) {
	for i := range p.posts {
		if x := &p.posts[i]; x.Post == a.Post && x.Until.IsZero() {
			x.Until = e.At
		}
	}
	p.posts = append(p.posts, Standing{Post: a.Post, By: e.By, Since: e.At})
}

// LeavePost ends the signer's standing by. A fire watch stays for a time after the last has signed off, and says that
// nothing glows or smoulders.
type LeavePost struct {
	Post  isolation.Post `json:"post"`
	Quiet bool           `json:"quiet,omitempty"`
}

// fireWatchAfter is how long a fire watch stays after hot work: 29 CFR 1910.252(a)(2)(iii)(B), half an hour at least,
// from memory.
const fireWatchAfter = 30 * time.Minute

// Kind says which act this is.
func (LeavePost) Kind() Kind { return KindLeavePost }

func (LeavePost) rule() rule { return signedBy("leave the post", anybody...) }

func (a LeavePost) tell(Names, Entry) string {
	return "left the post: " + string(a.Post) + either(a.Quiet, "; nothing glows or smoulders", "")
}

func (LeavePost) touches(Permit) Touched { return Touched{} }

func (LeavePost) aim(_ Permit, at Target) PermitAct { return LeavePost{Post: at.Post} }

func (a LeavePost) gate(s Setting, p Permit) error {
	const gate = "post"
	x, stands := p.AtPost(a.Post)
	switch {
	case !stands:
		return refuse(gate, "", "Nobody stands by as %s.", a.Post)
	case x.By != s.Actor().ID:
		return refuse(gate, "That person leaves; or take the post in their place.", "%s stands there, not %s.",
			s.name(x.By), s.Actor())
	case a.Post == isolation.Attendant && len(p.Inside()) > 0:
		return refuse(gate, "Record each as out first; or somebody takes the post in your place.", "%s still inside.",
			people(len(p.Inside())))
	case a.Post == isolation.FireWatch && len(p.SignedOn()) > 0:
		return refuse(gate, "Everybody signs off first; or somebody takes the post in your place.", "%s signed on.",
			people(len(p.SignedOn())))
	}
	if end := p.watchEnds(); a.Post == isolation.FireWatch && s.At.Before(end) {
		return refuse(gate, "Stay and look. Somebody may take the post in your place.",
			"The fire watch stays until %s: %d min after the last has signed off.", end.Format("15:04 MST"),
			int(fireWatchAfter.Minutes()))
	}
	return nil
}

func (a LeavePost) decide(_ Setting, p Permit) (outcome, error) {
	if a.Post == isolation.FireWatch && !p.watchEnds().IsZero() && !a.Quiet {
		return outcome{}, refuse("post", "Put it out and call the bridge. Leave when all is cold.",
			"It is not confirmed that nothing glows or smoulders.")
	}
	return outcome{to: p.state}, nil
}

func (a LeavePost) apply(e Entry, p *Permit) {
	for i := range p.posts {
		if x := &p.posts[i]; x.Post == a.Post && x.Until.IsZero() {
			x.Until, x.Quiet = e.At, a.Quiet
		}
	}
}

// Posts returns the posts that the permit's kinds of work ask for.
func (p Permit) Posts() []isolation.Post {
	var out []isolation.Post
	for _, r := range p.plan.Plan().WorkRows() {
		if r.Post != isolation.NoPost {
			out = append(out, r.Post)
		}
	}
	return out
}

// Stood returns everybody who stood by, in order.
func (p Permit) Stood() []Standing { return slices.Clone(p.posts) }

// AtPost returns who stands at a post now.
func (p Permit) AtPost(post isolation.Post) (Standing, bool) {
	for _, x := range p.posts {
		if x.Post == post && x.Until.IsZero() {
			return x, true
		}
	}
	return Standing{}, false
}

// watchEnds returns until when the fire watch stays; the zero time where nobody has worked.
func (p Permit) watchEnds() time.Time {
	var last time.Time
	for _, x := range p.crew {
		last = latest(last, x.Off)
	}
	if last.IsZero() {
		return last
	}
	return last.Add(fireWatchAfter)
}

// standing returns the posts at which somebody stands by.
func (p Permit) standing() []isolation.Post {
	return slices.DeleteFunc(p.Posts(), func(post isolation.Post) bool {
		_, stands := p.AtPost(post)
		return !stands
	})
}

// postsLeft refuses the end of the work while somebody stands by, and before a fire watch has seen all cold.
func (p Permit) postsLeft(s Setting, gate string) error {
	for _, post := range p.Posts() {
		if x, stands := p.AtPost(post); stands {
			return refuse(gate, "That person leaves the post first.", "%s still stands by as %s.", s.name(x.By), post)
		}
	}
	end := p.watchEnds()
	if !p.isOf(isolation.WorkHot) || end.IsZero() || slices.ContainsFunc(p.posts, func(x Standing) bool {
		return x.Post == isolation.FireWatch && x.Quiet && !x.Until.Before(end)
	}) {
		return nil
	}
	return refuse(gate, "Somebody takes the post, stays, and says that all is cold.",
		"No fire watch has seen since the work that nothing glows or smoulders.")
}

// postHeld refuses what waits for somebody to stand by.
func postHeld(p Permit, post isolation.Post, gate string) error {
	if _, stands := p.AtPost(post); slices.Contains(p.Posts(), post) && !stands {
		return refuse(gate, "Somebody takes the post and signs.", "Nobody stands by as %s.", post)
	}
	return nil
}

// standsNot refuses work by who stands by.
func standsNot(s Setting, p Permit, gate string) error {
	for _, x := range p.posts {
		if x.By == s.Actor().ID && x.Until.IsZero() {
			return refuse(gate, "Leave the post first; somebody else takes it.",
				"%s stands by as %s, and who stands by does nothing else.", s.Actor(), x.Post)
		}
	}
	return nil
}
