// Package paper prints what is hung, carried or filed: lock tags, point labels,
// the plan sheet, the permit and the sheet for handing over the watch, each as a
// PDF on A4 that has to survive a black and white printer, oily gloves and a copier.
//
// It knows page layout, fonts, symbols and QR codes. It does not know permits, plans
// or the register: callers fill plain structs with words, figures and times, and this
// package decides nothing about safety. What it refuses to print (ErrIncomplete) is a
// paper that would say too little, such as a tag without a position. The clock is
// never read: the same struct gives the same bytes.
//
// Begin with WriteLockTags, WritePlan and Stamp.
package paper
