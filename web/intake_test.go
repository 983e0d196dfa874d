package web

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"stillwatch/permits"
)

func TestFilesAreTakenAFewAtATime(t *testing.T) {
	j := begin(t)
	for range filesAtOnce {
		j.a.web.files <- struct{}{}
	}
	got := j.head.upload("/plant/propose", "tiny.yaml", []byte("plant: x"), "pin", testPINs["chief"])
	if got.status != http.StatusServiceUnavailable || !strings.Contains(got.body, "Other files are being taken") {
		t.Errorf("a file beside %d others = %d, want 503 with the reason", filesAtOnce, got.status)
	}
	<-j.a.web.files
	if got := j.head.upload("/plant/propose", "tiny.yaml", []byte("plant: x"), "pin", testPINs["chief"]); got.status !=
		http.StatusUnprocessableEntity {
		t.Errorf("a broken file with a place free = %d, want 422", got.status)
	}
}

// Every form says the promised sentence when the folder is lost under the running program, and the pages go on.
func TestWhatTheDiskDoesNotTakeIsToldAsNotRecorded(t *testing.T) {
	j := begin(t)
	dir := j.a.reg.Dir()
	if err := os.Rename(dir, dir+"-away"); err != nil {
		t.Skip("this system does not let a folder in use be moved")
	}
	for path, fields := range map[string][]string{
		j.path + "/authorise":    {"hours", "4", "signer", "oow", "pin", testPINs["oow"]},
		"/points/labels":         {"point", "V1"},
		"/points/V1/passing":     {"words", "weeps at the seat"},
		"/sign-in":               {"person", "oow", "pin", testPINs["oow"]},
		"/pin":                   {"old_pin", testPINs["oow"], "new_pin", "836205", "new_pin_again", "836205"},
		"/permits":               {"job", "P1-seal", "work", "Change the shaft seal"},
		j.path + "/sign-off":     {"signer", "oow", "pin", testPINs["oow"]},
		j.path + "/start":        {"still", "yes", "controls_off", "yes"},
		j.path + "/cancel":       {"words", "put off", "signer", "oow", "pin", testPINs["oow"]},
		"/people/oow/pin":        {"new_pin", "836205", "new_pin_again", "836205", "pin", testPINs["oow"]},
		j.path + "/countersign":  {"signer", "oow", "pin", testPINs["oow"]},
		j.path + "/hand-back":    {"signer", "oow", "pin", testPINs["oow"], "tools_back", "0", "guards_back", "yes"},
		j.path + "/extend":       {"hours", "4", "signer", "oow", "pin", testPINs["oow"]},
		j.path + "/sign-on":      {"signer", "oow", "pin", testPINs["oow"]},
		"/points/labels?again=1": {"point", "V2"},
	} {
		got := j.oow.post(path, fields...)
		if got.status != http.StatusServiceUnavailable || !strings.Contains(got.body, "Nothing was recorded") {
			t.Errorf("POST %s = %d, want 503 with the promised sentence", path, got.status)
		}
	}
	if got := j.oow.get("/"); got.status != http.StatusOK {
		t.Errorf("the board while nothing can be recorded = %d, want 200", got.status)
	}
	if err := os.Rename(dir+"-away", dir); err != nil {
		t.Fatal(err)
	}
	j.authorise()
	j.wantState(permits.Authorised)
}
