package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// told is what a script of our own pages is answered instead of a page: what was done, and where that is seen; or a
// refusal in its two sentences. It is asked for by "Accept: application/json".
type told struct {
	Done  string `json:"done,omitempty"`  // what was recorded, as the page would say it
	Then  string `json:"then,omitempty"`  // address of the page that shows what has become of it
	Entry int64  `json:"entry,omitempty"` // its number in the log

	Next *nextStep `json:"next,omitempty"` // of the same permit; nil: nothing is fitted or taken off next

	What  string `json:"what,omitempty"`  // why it was not done
	Opens string `json:"opens,omitempty"` // what would let it be done
	Field string `json:"field,omitempty"` // of the form, if one was at fault
}

// toScript reports whether a script asks, which makes a page's words of the answer itself.
func toScript(c *gin.Context) bool { return c.GetHeader("Accept") == "application/json" }

// tellRefused answers a script why not.
func tellRefused(c *gin.Context, status int, no *permits.Refusal) {
	c.JSON(status, told{What: no.What, Opens: no.Opens, Field: no.Field})
}
