package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// permitProve takes the signature under the proof.
func (s *Server) permitProve(c *gin.Context) error {
	return s.onPermit(c, "prove", permits.Prove{}, "The proof is signed. The person in charge of the work accepts next.")
}

// permitAccept takes the signature of the person in charge, which makes the permit live.
func (s *Server) permitAccept(c *gin.Context) error {
	act := permits.Accept{ToolsOut: formOf(c).count("tools_out", "The count of tools")}
	return s.onPermit(c, "accept", act, "The permit is live. Everybody who works signs on first.")
}

// crewSignOn puts the signer to the work.
func (s *Server) crewSignOn(c *gin.Context) error {
	return s.onPermit(c, "sign-on", permits.SignOn{}, "Signed on.")
}

// crewSignOff takes the signer off the work.
func (s *Server) crewSignOff(c *gin.Context) error {
	return s.onPermit(c, "sign-off", permits.SignOff{}, "Signed off.")
}
