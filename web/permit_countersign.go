package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// permitCountersign takes the master's signature under the authorisation.
func (s *Server) permitCountersign(c *gin.Context) error {
	return s.onPermit(c, "countersign", permits.Countersign{},
		"Countersigned. The technician fits the locks in their order.")
}

// awaitsMaster reports whether the rules in force want the master's signature under this authorisation and it is not
// there yet. Until then the gate lets no lock be fitted.
func awaitsMaster(p permits.Permit, rules *isolation.Rules) bool {
	return permits.CanFollow(p.State(), permits.KindCountersign) && p.Countersigned().IsZero() &&
		p.NeedsCountersign(permits.Setting{Rules: rules})
}
