package web

import (
	"strings"
	"testing"
)

// A scanned label counts for one tag. What is left over from the last point is neither taken for the next one nor
// called a wrong label: somebody who walks from valve to valve has done nothing wrong.
func TestLabelIsUsedUpByOneTag(t *testing.T) {
	j := begin(t)
	j.authorise()
	locks, tags := j.a.permit(j.id).Locks(), j.a.codes(j.id)
	points := []string{}
	for _, l := range locks {
		points = append(points, "point", string(l.Step.Point))
	}
	j.tech.must(j.tech.post("/points/labels", points...), "/points")
	codes, err := j.a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	label := func(i int) string { return "/T/" + codes[locks[i].Step.Point].Text() }
	tag := func(i int) string { return tags[locks[i].Step.N] }

	j.tech.get(label(0))
	j.tech.must(j.tech.post(tag(0)+"/fit", j.fitFields(locks[0])...), tag(0))
	if body := j.tech.get(tag(1)).body; strings.Contains(body, `class="label-read`) || !strings.Contains(body, `name="label"`) {
		t.Error("the label of the first point is still spoken of at the second")
	}
	j.tech.get(label(0)) // read once more on the way out
	body := j.tech.get(tag(1)).body
	if want := "Scan the label of " + string(locks[1].Step.Point); !strings.Contains(body, want) ||
		strings.Contains(body, "Wrong label") {
		t.Errorf("the page of the second tag does not say %q, or calls the label wrong", want)
	}
	j.tech.refused(j.tech.post(tag(1)+"/fit", j.fitFields(locks[1])...), 422, "label")
	j.tech.get(label(2))
	if body := j.tech.get(tag(1)).body; !strings.Contains(body, "Wrong label") {
		t.Error("the label of a point at which nothing hangs yet is not called wrong")
	}
	j.tech.refused(j.tech.post(tag(1)+"/fit", j.fitFields(locks[1])...), 422, string(locks[2].Step.Point))
}

// The number of the next lock begins as that of the last one; the beginning alone is no number.
func TestBeginningOfALocksNumberIsNoNumber(t *testing.T) {
	j := begin(t)
	j.authorise()
	tags := j.a.codes(j.id)
	fitted := 0
	for _, l := range j.a.permit(j.id).Locks() {
		tag := tags[l.Step.N]
		if l.Step.Lock && fitted > 0 {
			if body := j.tech.get(tag).body; !strings.Contains(body, `name="prefix" value="L-"`) {
				t.Errorf("step %d: the page does not begin the lock's number as on the last one", l.Step.N)
			}
			j.tech.refused(j.tech.post(tag+"/fit", "position", string(l.Step.Position), "padlock", "L-", "prefix", "L-"), 422,
				"Only the beginning")
		}
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
		if l.Step.Lock {
			fitted++
		}
	}
	if fitted < 2 {
		t.Fatalf("%d locks were fitted, want two or more to tell", fitted)
	}
}
