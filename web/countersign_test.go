package web

import (
	"net/http"
	"strings"
	"testing"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

// mastersRules are the company's own rules for the test: every work that opens something is countersigned.
func mastersRules(t *testing.T) []byte {
	t.Helper()
	text := string(plantfile.ShippedRules().Text)
	const line = "\ncountersign: [enter, hot work]"
	if !strings.Contains(text, line) {
		t.Fatalf("the shipped rules lack %q", line)
	}
	return []byte(strings.Replace(text, line, "\ncountersign: [open, enter, hot work]", 1))
}

func TestMasterCountersignsBeforeAnythingIsFitted(t *testing.T) {
	a := ship(t)
	head := a.as("chief")
	head.putInForce("/rules", "rules.yaml", mastersRules(t))
	j := beginOn(a)
	if body := j.tech.get(j.path).body; strings.Contains(body, j.path+"/countersign") {
		t.Error("a draft offers the countersignature")
	}
	j.authorise()
	for who, path := range map[*browser]string{j.tech: "/", j.head: j.path} {
		if body := who.get(path).body; !strings.Contains(body, "Countersign the authorisation: the rules ask for it") {
			t.Errorf("%s does not say that the master is waited for", path)
		}
	}
	if body := a.as("master").get("/").body; !strings.Contains(body, `You can</span> Waits for: master`) {
		t.Error("the master's board does not say that the master can act")
	}
	tag := a.codes(1)[1]
	if body := j.tech.get(tag).body; !strings.Contains(body,
		"The rules ask for the master&#39;s signature") {
		t.Error("the first tag's page does not say that the master comes first")
	}
	l, _ := a.permit(1).Lock(1)
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "The rules ask for the master's signature")
	j.oow.refused(j.oow.post(j.path+"/countersign", "pin", testPINs["oow"]), http.StatusForbidden, "may not countersign")
	j.oow.refused(j.oow.post(j.path+"/countersign", "signer", "master", "pin", testPINs["oow"]), http.StatusForbidden,
		"PIN")
	got := j.oow.must(j.oow.post(j.path+"/countersign", "signer", "master", "pin", testPINs["master"]), j.path)
	if strings.Contains(got.body, `action="`+j.path+`/countersign"`) ||
		!strings.Contains(got.body, "Countersigned</dt><dd>Master") {
		t.Error("the countersigned permit asks for the signature again, or does not say who gave it")
	}
	j.oow.refused(j.oow.post(j.path+"/countersign", "signer", "master", "pin", testPINs["master"]), 422,
		"countersigned already")
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	j.wantState(permits.Isolating)
}

func TestNobodyWaitsForTheMasterWithoutTheRule(t *testing.T) {
	j := begin(t)
	j.authorise()
	if body := j.oow.get(j.path).body; strings.Contains(body, "ountersign") {
		t.Error("the page asks for a countersignature that the rules do not ask for")
	}
}
