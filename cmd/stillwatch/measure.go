package main

import (
	"context"
	"log/slog"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
	"stillwatch/web"
	"stillwatch/web/metrics"
)

// newMeter measures a register until ctx ends.
func newMeter(ctx context.Context, reg *register.Register, logger *slog.Logger) web.Meter {
	return metrics.New(ctx, metrics.Config{Register: reg, Version: line.Version(), Backup: reg.LastBackup, Logger: logger})
}
