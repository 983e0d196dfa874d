//go:build !metrics

package main

import (
	"context"
	"log/slog"

	"stillwatch/permits/register"
	"stillwatch/web"
)

// newMeter gives none: this program was built without measurements.
func newMeter(context.Context, *register.Register, *slog.Logger) web.Meter { return nil }
