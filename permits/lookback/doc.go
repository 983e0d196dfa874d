// Package lookback knows what a chief engineer is asked about the permits of a time: how long they took, what hung for
// them, what gates refused, which points passed, whether audits were in time. It counts what the register has read, and
// writes tables that a spreadsheet opens without harm. It decides nothing and reads nothing itself.
//
// Begin with Asked.Figures, and WriteCSV.
package lookback
