// Package sender sends a ship's log to the shore whenever there is a link. The log itself is the queue: what has
// still to be sent is what the shore says that it lacks, so a ship that was killed, or had no link for months, goes
// on where the shore stands. The sender keeps one small file of its own, with what the shore said last, so that what
// it has against the log is on the board after a restart too, before there is a link.
//
// It must not know gates and pages. It owns the file shore.json in the data folder.
//
// Begin with Sender.Run and Enrol.
package sender
