package web

import (
	"strings"
	"testing"

	"stillwatch/web/screens"
)

func TestTextThatNoQRHoldsIsAnError(t *testing.T) {
	if _, err := screens.DrawQR(strings.Repeat("long ", 2000)); err == nil {
		t.Error("drawQR of 10000 characters = nil error, want one")
	}
}
