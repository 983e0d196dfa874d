// Package line has what the commands share: flags with their environment, the folders, the addresses, the version, and
// how a mistake is told.
package line
