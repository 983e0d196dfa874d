// Package site has what every site of the program needs, the ship's and the office's: style sheets and scripts under
// addresses of their own, the headers of every answer, doors against other sites' forms, and a server with time-outs
// that stops in order. It knows no page.
package site

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"
)

// Serving is what Serve answers with.
type Serving struct {
	Handler http.Handler
	Logger  *slog.Logger
	OnStop  func() // called when the server is told to stop, to end what would go on for ever; nil: there is nothing
	// for how long one request may come in, and one answer go out; 0: 30 and 60 seconds
	ReadTimeout, WriteTimeout time.Duration
}

// GraceS is how long running requests may take to end after the server was told to stop, seconds.
const GraceS = 8

// Serve answers on l until ctx ends, then stops listening, lets running requests finish, and returns. The error is nil
// after a stop that was asked for.
func Serve(ctx context.Context, l net.Listener, s Serving) error {
	srv := &http.Server{
		Handler:           s.Handler,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       max(s.ReadTimeout, 30*time.Second),
		WriteTimeout:      max(s.WriteTimeout, 60*time.Second),
		IdleTimeout:       120 * time.Second,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(s.Logger.Handler(), slog.LevelWarn),
	}
	if s.OnStop != nil {
		srv.RegisterOnShutdown(s.OnStop)
	}
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		grace, cancel := context.WithTimeout(context.Background(), GraceS*time.Second)
		defer cancel()
		stopped <- srv.Shutdown(grace)
	}()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serve: %w", err)
	}
	if err := <-stopped; err != nil {
		return fmt.Errorf("stop serving: %w", err)
	}
	return nil
}
