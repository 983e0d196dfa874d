// Package shore answers for many ships: it enrols their keys, takes the segments of their logs, and holds each against
// what it has of the ship. Nothing ashore changes a permit; what a ship has sent is kept as it came.
//
// A segment is taken when the ship's enrolled key has signed its head, the head goes on from the one ashore, the
// entries make the hash that is signed, and the gates of the log's own edition would have let every entry through.
// Two heads of a ship that do not agree make an alarm, here and aboard.
//
// Processes keep nothing that another one needs. Of each ship that sends, a process keeps a follower in memory, which
// saves reading the ship's state from the tables for each segment; it is only used while the row of the ship says the
// same size, and the row is held while a segment is taken.
//
// It must not know SQL, which is package store's, and no pages.
//
// Begin with Open, Shore.Take and Shore.Enrol.
package shore
