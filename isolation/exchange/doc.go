// Package exchange brings plants in from other programs and gives them out again: spreadsheets (XLSX) and drawn graphs
// (GraphML). Whatever comes in becomes the text of a plant file first and is read by isolation.Read like any other, so
// that there is one set of checks; a fault found there is told by the sheet and cell, or the line, that it came from.
//
// It knows no plan and no permit. Begin with ReadXLSX, ReadGraphML and WriteXLSX.
package exchange
