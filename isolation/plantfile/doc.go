// Package plantfile reads plant files and rules files (YAML) into an isolation.Plant and isolation.Rules, and says what
// is wrong in one with line, column and the words around it. It is the only reader of the format; what it lets through
// may be taken as sound: ids are unique, every id that is named exists, figures are within what a ship can have.
//
// Begin with Read, ReadRules and ShippedRules.
package plantfile
