package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// How often a live page hears something even when nothing happens, and how long one write may take.
const (
	heartbeat   = 15 * time.Second
	writeWithin = 10 * time.Second
	catchUpMost = 200 // entries told again after a break; a page that missed more asks for itself anew once
)

// greeting begins every stream: the browser comes back 3 s after a break.
const greeting = ": listening\nretry: 3000\n\n"

// events tells a page what has been written to the log, one event an entry: its number as the event's id, and which
// permit it concerns. After a break the browser says the last number that it heard, and is told what came since.
// Nothing that somebody could not see on the log page is told.
func (s *Server) events(c *gin.Context) error {
	entries, cancel := s.reg.Subscribe()
	defer cancel()
	w, err := openStream(c)
	if err != nil {
		return err
	}
	if w.say(greeting) != nil {
		return nil // the page has gone
	}
	last := s.catchUp(c, w)
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	for {
		var err error
		select {
		case <-c.Request.Context().Done():
			return nil
		case <-s.streams.Done():
			return nil
		case <-tick.C:
			err = w.beat(s.reg.Head().Size)
		case e, open := <-entries:
			if !open {
				return nil // too slow: the browser connects again and catches up
			}
			if e.N > last {
				err = w.entry(e)
			}
		}
		if err != nil {
			return nil // the page has gone
		}
	}
}

// catchUp tells what was written since the page last heard, and returns the number of the last entry told.
func (s *Server) catchUp(c *gin.Context, w *stream) int64 {
	heard, err := strconv.ParseInt(c.GetHeader("Last-Event-ID"), 10, 64)
	if err != nil {
		return -1
	}
	missed, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{After: &heard, Limit: catchUpMost})
	if err != nil {
		s.log.Warn("catch up a live page", "err", err)
		return -1
	}
	for _, e := range missed {
		if w.entry(e) != nil {
			break
		}
		heard = e.N
	}
	return heard
}

// stream writes events, each within its own deadline: the server's deadline for whole answers does not fit here.
type stream struct {
	c  *gin.Context
	rc *http.ResponseController
}

// openStream begins to answer with events.
func openStream(c *gin.Context) (*stream, error) {
	w := &stream{c: c, rc: http.NewResponseController(c.Writer)}
	if err := w.rc.SetReadDeadline(time.Time{}); err != nil { // the deadline for reading a request would end the stream
		return nil, fmt.Errorf("open a live page: %w", err)
	}
	c.Header("Content-Type", "text/event-stream")
	c.Header("X-Accel-Buffering", "no")
	c.Status(http.StatusOK)
	return w, nil
}

// beat tells that the line is up and how many entries the log has. It is an event: of a comment a page hears nothing,
// and a line that has died without a word looks open for minutes.
func (w *stream) beat(size int64) error { return w.say(fmt.Sprintf("event: beat\ndata: %d\n\n", size)) }

func (w *stream) say(text string) error {
	if err := w.rc.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	if _, err := w.c.Writer.WriteString(text); err != nil {
		return err
	}
	return w.rc.Flush()
}

func (w *stream) entry(e permits.Entry) error {
	return w.say(fmt.Sprintf("id: %d\nevent: entry\ndata: %d\n\n", e.N, e.Permit))
}
