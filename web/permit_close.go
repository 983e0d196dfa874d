package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// permitHandBack takes the end of the work.
func (s *Server) permitHandBack(c *gin.Context) error {
	f := formOf(c)
	act := permits.HandBack{ToolsBack: f.count("tools_back", "The count of tools"), GuardsBack: f.yes("guards_back")}
	return s.onPermit(c, "hand-back", act, "Handed back. The locks come off now, the last first.")
}

// ownerRelease takes the chief engineer's release of an absent owner's locks.
func (s *Server) ownerRelease(c *gin.Context) error {
	f := formOf(c)
	act := permits.ReleaseOwner{Owner: permits.PersonID(f.text("owner")), Verified: f.yes("verified"),
		Tried: f.yes("tried"), WillTell: f.yes("will_tell"), Words: f.text("words")}
	return s.onPermit(c, "release", act, "Another may take those locks off now.")
}

// permitClose takes the chief engineer's signature that ends a permit.
func (s *Server) permitClose(c *gin.Context) error {
	f := formOf(c)
	act := permits.Close{Positions: f.yes("positions"), Told: f.yes("told"), Words: f.text("words")}
	return s.onPermit(c, "close", act, "Closed.")
}

// permitCancel stops a permit before its work is done.
func (s *Server) permitCancel(c *gin.Context) error {
	return s.onPermit(c, "cancel", permits.Cancel{Words: formOf(c).text("words"),
		ToolsBack: formOf(c).countOr("tools_back", 0), GuardsBack: formOf(c).yes("guards_back")},
		"Cancelled. Whatever hangs comes off in reverse order.")
}
