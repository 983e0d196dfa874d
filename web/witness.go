package web

import (
	"encoding/base64"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// headCookie carries the newest signed head that a device has seen. A device that has seen a newer one than the log has
// tells that an older copy of the register was put back; nobody but the ship's own key can make one up.
const headCookie = "stillwatch-head"

// headSeen holds the log against what the device has seen.
func (s *Server) headSeen(c *gin.Context) {
	k, err := c.Request.Cookie(s.cookieName(headCookie))
	if err != nil {
		return
	}
	signed, err := base64.RawURLEncoding.DecodeString(k.Value)
	if err != nil || sizeOf(signed) <= s.reg.Head().Size {
		return
	}
	if err := s.reg.MeetHead(c.Request.Context(), signed); err != nil {
		s.log.Error("hold the log against a head that a device has seen", "err", err)
	}
}

// showHead gives the device the head as it is now.
func (s *Server) showHead(c *gin.Context) {
	head := s.reg.Head()
	value := base64.RawURLEncoding.EncodeToString(head.Signed)
	if k, err := c.Request.Cookie(s.cookieName(headCookie)); me(c).ID == "" || err == nil && k.Value == value {
		return
	}
	if k, err := c.Request.Cookie(s.cookieName(headCookie)); err == nil {
		if signed, err := base64.RawURLEncoding.DecodeString(k.Value); err == nil && sizeOf(signed) > head.Size {
			return // it knows more
		}
	}
	http.SetCookie(c.Writer, &http.Cookie{Name: s.cookieName(headCookie), Value: value, Path: "/", MaxAge: 365 * 86400,
		HttpOnly: true, Secure: s.cfg.Secure, SameSite: http.SameSiteLaxMode})
}

// sizeOf returns the number of entries that a signed head says it counts; 0 for what is none.
func sizeOf(signed []byte) int64 {
	lines := strings.SplitN(string(signed), "\n", 3)
	if len(lines) < 3 {
		return 0
	}
	n, err := strconv.ParseInt(lines[1], 10, 64)
	if err != nil {
		return 0
	}
	return n
}

// lossAccept takes the signature that entries of the log are lost for good.
func (s *Server) lossAccept(c *gin.Context) error {
	f := formOf(c)
	act := permits.AcceptLoss{Size: int64(f.count("size", "The size of the head")), Hash: f.text("hash"),
		Words: f.text("words")}
	return s.do(c, doing{form: "loss", act: act, then: "/", again: s.boardAgain,
		done: "Recorded. Every lock aboard is looked at against the board."})
}
