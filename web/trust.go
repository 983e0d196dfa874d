package web

import (
	"net/http"
	"strings"

	"stillwatch/web/screens"

	"github.com/gin-gonic/gin"
)

// trust returns the authority, or says that there is none.
func (s *Server) trust() (*screens.Trust, error) {
	if s.cfg.Trust == nil {
		return nil, notThere("The ship has no certificate authority of its own in use.",
			"Nothing is missing: everything works without. Whoever looks after the program may set one up.")
	}
	return s.cfg.Trust, nil
}

func (s *Server) trustShow(c *gin.Context) error {
	t, err := s.trust()
	if err != nil {
		return err
	}
	page := screens.TrustPage{Frame: s.base(c, "Trust this ship's server", ""), Trust: *t,
		Address: strings.TrimSuffix(t.Plain, "/") + "/trust",
		Secured: s.cfg.Secure, Groups: strings.Fields(t.Fingerprint)}
	if page.QR, err = screens.DrawQR(page.Address); err != nil {
		return err
	}
	return s.render(c, http.StatusOK, "trust_show", page)
}

// trustTry leads to the secure pages.
func (s *Server) trustTry(c *gin.Context) error {
	t, err := s.trust()
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, t.Secure)
	return nil
}

// authorityDER returns the certificate in the form that phones install by opening it.
func (s *Server) authorityDER(c *gin.Context) error {
	t, err := s.trust()
	if err != nil {
		return err
	}
	c.Data(http.StatusOK, "application/x-x509-ca-cert", t.DER)
	return nil
}

// authorityPEM returns the certificate in the form that computers import.
func (s *Server) authorityPEM(c *gin.Context) error {
	t, err := s.trust()
	if err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="authority.pem"`)
	c.Data(http.StatusOK, "application/x-pem-file", t.PEM)
	return nil
}
