package main

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/exchange"
)

func plantImport(args []string, out, errOut io.Writer) error {
	flags := flag.NewFlagSet("import", flag.ContinueOnError)
	to := flags.String("o", "", "file to write; the screen if left out")
	var a asking
	flags.StringVar(&a.answers, "answers", "", "filled-in questions")
	flags.StringVar(&a.questions, "questions", "", "file to write the questions into")
	flags.BoolVar(&a.list, "list", false, "the workbook is a plain list of valves")
	path, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	data, err := readUpTo(path, exchange.MaxDrawingBytes+1)
	if err != nil {
		return err
	}
	asks := a.asks(path, data)
	if !asks && (a.answers != "" || a.questions != "") {
		return fmt.Errorf("%s: only diagrams (.xml) and lists of valves (.csv, or .xlsx with --list) leave questions", path)
	}
	var p *isolation.Plant
	switch ext := strings.ToLower(filepath.Ext(path)); {
	case asks:
		p, err = a.importAsking(path, data, errOut)
	case ext == ".xlsx":
		p, err = exchange.ReadXLSX(path, data)
	case ext == ".graphml" || ext == ".xml":
		p, err = exchange.ReadGraphML(path, data)
	default:
		err = fmt.Errorf("%s: only workbooks (.xlsx), drawn graphs (.graphml), diagrams (.xml) and lists of valves (.csv) "+
			"can be imported", path)
	}
	if err != nil || p == nil {
		return err
	}
	if *to == "" {
		_, err = out.Write(p.Text)
		return err
	}
	if err := writeNew(*to, p.Text); err != nil {
		return err
	}
	fmt.Fprintf(errOut, "wrote %s: %s\n", *to, plantCounts(p))
	printNotes(errOut, p)
	return nil
}

func plantTemplate(args []string, _, errOut io.Writer) error {
	flags := flag.NewFlagSet("template", flag.ContinueOnError)
	from := flags.String("plant", "", "plant file to write out instead of the example")
	to, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	if strings.ToLower(filepath.Ext(to)) != ".xlsx" {
		return fmt.Errorf("%s: the template is a workbook; give a name that ends in .xlsx", to)
	}
	var buf bytes.Buffer
	if *from == "" {
		err = exchange.WriteTemplate(&buf)
	} else {
		var p *isolation.Plant
		if p, err = readPlantFile(*from); err == nil {
			err = exchange.WriteXLSX(&buf, p)
		}
	}
	if err != nil {
		return err
	}
	if err := writeNew(to, buf.Bytes()); err != nil {
		return err
	}
	fmt.Fprintf(errOut, "wrote %s\n", to)
	return nil
}

// writeNew writes a file that must not be there yet: a plant file in use is never overwritten by an import.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	if _, err := f.Write(data); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
