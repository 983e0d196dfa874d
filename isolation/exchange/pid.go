package exchange

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// The most that is read of a drawing.
const (
	// MaxDrawingBytes is the size of the largest drawing that is read.
	MaxDrawingBytes = 64 << 20
	deepestDrawing  = 100
	mostDrawn       = 200_000 // elements that matter
)

// drawn is an element of a drawing that matters to the plant.
type drawn struct {
	tag, id, class string
	line           int
	inside         *drawn
	parts          []*drawn          // in the order of the drawing
	said           map[string]string // attributes by their short names
	from, to       string            // a connection
	refers         map[string][]string
	links          int // how many pipes come to it
}

// drawing is a drawing while it is read.
type drawing struct {
	*survey
	in     *xml.Decoder
	things map[string]*drawn
	top    *drawn
	open   []*drawn // elements around the place being read; nil for those that don't matter
	kept   int

	automatics []moved
}

// kept are the elements that matter; what is about looks is passed over.
var keptTags = []string{"PlantModel", "Equipment", "Nozzle", "PipingNetworkSystem", "PipingNetworkSegment",
	"PipingComponent", "PipeOffPageConnector", "ActuatingSystem", "ActuatingSystemComponent", "Connection", "Association"}

// passedTags are elements whose whole inside says nothing of the plant.
var passedTags = []string{"ShapeCatalogue", "Drawing", "ProcessInstrumentationFunction", "InstrumentationLoopFunction",
	"Label", "CenterLine", "Position", "Extent", "Presentation", "PlantInformation", "MetaData", "PipeFlowArrow",
	"PipeSlopeSymbol", "InsulationSymbol", "PropertyBreak"}

// read walks the XML once.
func (d *drawing) read() error {
	for {
		t, err := d.in.Token()
		switch {
		case errors.Is(err, io.EOF) && d.top == nil:
			return errors.New("there is no <PlantModel> in it")
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return fmt.Errorf("not XML, or cut off: %w", err)
		}
		switch t := t.(type) {
		case xml.Directive:
			if bytes.Contains(bytes.ToUpper(t), []byte("ENTITY")) {
				return errors.New("it declares entities of its own, which no drawing needs and which can unpack without end")
			}
		case xml.StartElement:
			if err := d.start(t); err != nil {
				return err
			}
		case xml.EndElement:
			if n := len(d.open); n > 0 {
				d.open = d.open[:n-1]
			}
		}
	}
}

// actuated is what a component says that has its actuator drawn inside it.
const actuated = "actuated by"

func (d *drawing) line() int {
	line, _ := d.in.InputPos()
	return line
}

// around returns the innermost open element that matters.
func (d *drawing) around() *drawn {
	for _, e := range slices.Backward(d.open) {
		if e != nil {
			return e
		}
	}
	return nil
}

func (d *drawing) start(t xml.StartElement) error {
	name := t.Name.Local
	if d.top == nil && name != "PlantModel" {
		return fmt.Errorf("it begins with <%s>, not with <PlantModel>", name)
	}
	if len(d.open) >= deepestDrawing {
		return fmt.Errorf("its elements lie more than %d deep in each other", deepestDrawing)
	}
	if slices.Contains(passedTags, name) {
		if err := d.in.Skip(); err != nil {
			return fmt.Errorf("not XML, or cut off: %w", err)
		}
		return nil
	}
	if name == "GenericAttribute" {
		d.says(t)
	}
	if strings.Contains(attr(t, "ComponentClass"), "Actuator") {
		if e := d.around(); e != nil && e.tag == "PipingComponent" {
			e.said[actuated] = attr(t, "ComponentClass")
		}
	}
	if n := len(d.open); n > 0 && d.open[n-1] != nil && d.open[n-1].tag == "PipingNetworkSegment" &&
		attr(t, "ComponentClass") != "" && !slices.Contains(keptTags, name) {
		name = "PipingComponent" // it lies on a pipe: what it is will be asked
	}
	if !slices.Contains(keptTags, name) {
		d.open = append(d.open, nil)
		return nil
	}
	if d.kept++; d.kept > mostDrawn {
		return fmt.Errorf("it has more than %d things", mostDrawn)
	}
	e := &drawn{tag: name, id: attr(t, "ID"), class: attr(t, "ComponentClass"), line: d.line(), inside: d.around(),
		said: map[string]string{}, refers: map[string][]string{}, from: attr(t, "FromID"), to: attr(t, "ToID")}
	d.open = append(d.open, e)
	switch {
	case e.inside == nil:
		d.top = e
	case name == "Association":
		kind := strings.ToLower(attr(t, "Type"))
		e.inside.refers[kind] = append(e.inside.refers[kind], attr(t, "ItemID"))
	default:
		e.inside.parts = append(e.inside.parts, e)
	}
	if first := d.things[e.id]; first != nil && e.id != "" {
		d.refuse(lineAt(e.line), "the ID %s stands already in line %d", e.id, first.line)
	}
	if e.id != "" {
		d.things[e.id] = e
	}
	return nil
}

// says keeps an attribute of the element around it, by its name without the schema's ending. Of a component's several
// ends the first that says its size counts for it.
func (d *drawing) says(t xml.StartElement) {
	e, value := d.around(), strings.TrimSpace(attr(t, "Value"))
	if e == nil || value == "" {
		return
	}
	name := strings.TrimSuffix(attr(t, "Name"), "AssignmentClass")
	if _, already := e.said[name]; !already {
		e.said[name] = value
	}
}

// ReadDrawing reads a piping and instrumentation diagram in the Proteus schema as DEXPI publishes it, with what a
// person has answered. Valves, blinds, check valves and fittings become nodes, equipment becomes vessels, pumps and
// consumers, pipes become links with their nominal diameter, and where the drawing ends a source is asked for. Nothing
// that the drawing does not say is guessed: it is asked, with the line. Errors wrap *RowErrors, which name the line.
func ReadDrawing(name string, data []byte, answers Answers) (*Imported, error) {
	if len(data) > MaxDrawingBytes {
		return nil, fmt.Errorf("read drawing %s: it has more than %d bytes, the most that is read", name, MaxDrawingBytes)
	}
	d := &drawing{survey: newSurvey(name, answers), in: xml.NewDecoder(bytes.NewReader(data)), things: map[string]*drawn{}}
	d.in.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("the file is in %s; save it as UTF-8", charset)
	}
	if err := d.read(); err != nil {
		d.refuse(lineAt(d.line()), "%s", err)
	} else {
		d.makePlant()
	}
	if err := d.err(); err != nil {
		return nil, fmt.Errorf("read drawing: %w", err)
	}
	out, err := d.result()
	if err != nil {
		return nil, fmt.Errorf("read drawing: %w", err)
	}
	return out, nil
}
