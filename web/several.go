package web

import (
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// underRequest takes the request of a permit that works under the locks of the one on whose page it stands.
func (s *Server) underRequest(c *gin.Context) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	of, err := s.reg.Permit(c.Request.Context(), id)
	if err != nil {
		return err
	}
	return s.do(c, doing{form: "under", act: of.RequestUnder(formOf(c).text("work")), again: s.permitAgain,
		done: "Requested. The officer of the watch authorises it next; no lock of its own goes on."})
}

// boxUse takes the signature that the keys lie in a group box.
func (s *Server) boxUse(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "use-group-box", permits.UseBox{Box: f.text("box"), Keys: f.count("keys", "The count of keys")},
		"The box is in use. Whoever signs on hangs a lock of their own on it.")
}

// ownLockTake takes the signature that a lock came off the group box after its owner signed off.
func (s *Server) ownLockTake(c *gin.Context) error {
	who := permits.PersonID(formOf(c).text("person"))
	return s.onPermit(c, "take-own-lock:"+string(who), permits.TakeOwnLock{Person: who},
		"Recorded: the lock is off the box.")
}

// openingOrder takes the order by which locks come off at once in an emergency.
func (s *Server) openingOrder(c *gin.Context) error {
	f := formOf(c)
	act := permits.OrderOpening{By: permits.PersonID(f.text("by_whom")), Seen: permits.PersonID(f.text("seen_by")),
		Words: f.text("words"), Steps: f.steps()}
	return s.onPermit(c, "order-opening", act, "Ordered. Only the locks named come off, by the person named.")
}

// steps returns the steps that were ticked.
func (f *form) steps() []int {
	var out []int
	for _, text := range f.Values["step"] {
		n, err := strconv.Atoi(text)
		if err != nil || len(f.Values["step"]) > 500 {
			f.wrong("step", "The list of steps makes no sense.")
			return nil
		}
		out = append(out, n)
	}
	return out
}

// lockOpen takes a lock or tag that came off at once in an emergency.
func (s *Server) lockOpen(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "open", err)
	}
	f := formOf(c)
	act := permits.OpenAtOnce{Tag: code.Digest(), Position: f.position("position"), How: f.how()}
	return s.doTag(c, tag, code, doing{form: "open", act: act,
		done: "Recorded: " + strconv.Itoa(tag.Step) + " is off " + string(tag.Point) + "."})
}

// emergencyAccount takes the signature that every lock of a permit was counted after an emergency.
func (s *Server) emergencyAccount(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "account-after-emergency",
		permits.Account{Hang: f.count("hang", "The count of locks and tags"), Words: f.text("words")},
		"Accounted for. It goes on, or ends, as before.")
}

func (s *Server) emergencyShow(c *gin.Context) error { return s.emergencyAgain(c, screens.Back{}) }

// emergencyAgain shows the page of the emergency, with a form that was refused.
func (s *Server) emergencyAgain(c *gin.Context, b screens.Back) error {
	frame := s.base(c, "Emergency", "board")
	frame.Live, frame.Back, frame.Path = true, b, "/emergency"
	page := screens.EmergencyOf(frame, s.setting(me(c)))
	newest, err := s.newestEmergency(c.Request.Context())
	if err != nil {
		return err
	}
	page.Sheet = len(newest) > 0
	return s.render(c, statusOfForm(b), "emergency_show", page)
}

// emergencyDeclare takes the signature that stops all work on board.
func (s *Server) emergencyDeclare(c *gin.Context) error {
	act := permits.DeclareEmergency{Words: formOf(c).text("words")}
	return s.do(c, doing{form: "declare", act: act, then: "/emergency", again: s.emergencyAgain,
		done: "Declared. All work is stopped. Get everybody out and count them below."})
}

// emergencyEnd takes the signature that it is over.
func (s *Server) emergencyEnd(c *gin.Context) error {
	return s.do(c, doing{form: "end", act: permits.EndEmergency{Words: formOf(c).text("words")}, then: "/emergency",
		again: s.emergencyAgain, done: "Over. Now the locks of each permit below are counted, before anything goes on."})
}

// countOut takes that somebody was seen outside.
func (s *Server) countOut(c *gin.Context) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	act := permits.CountOut{Person: permits.PersonID(f.text("person")), Where: f.text("where")}
	return s.do(c, doing{form: "count-out:" + c.Param("id") + ":" + string(act.Person), permit: id, act: act,
		then: "/emergency", again: s.emergencyAgain, done: "Counted out."})
}
