package web

import (
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
)

// Trust is the ship's own certificate authority as phones are told of it. It holds no secret.
type Trust struct {
	PEM, DER    []byte    // the authority's certificate in both forms
	Fingerprint string    // SHA-256 of it, in groups
	Until       time.Time // after which no phone trusts it any more
	Plain       string    // address of the plain pages, where a phone that does not trust yet begins
	Secure      string    // address of the secure pages
}

// trustShowPage tells how a phone comes to trust the ship's authority.
type trustShowPage struct {
	base
	Trust
	Address string // of this very page, on the plain side
	QR      qrPicture
	Secured bool // the page came over TLS
	Groups  []string
}

// trust returns the authority, or says that there is none.
func (s *Server) trust() (*Trust, error) {
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
	page := trustShowPage{base: s.base(c, "Trust this ship's server", ""), Trust: *t,
		Address: strings.TrimSuffix(t.Plain, "/") + "/trust",
		Secured: s.cfg.Secure, Groups: strings.Fields(t.Fingerprint)}
	if page.QR, err = drawQR(page.Address); err != nil {
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
