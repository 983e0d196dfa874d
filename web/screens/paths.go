package screens

import (
	"net/url"
	"strconv"

	"stillwatch/permits"
)

// PermitNumber returns a permit's number as people say it.
func PermitNumber(id permits.PermitID) string { return strconv.FormatInt(int64(id), 10) }

// JobPath returns the address at which a job's plan is shown.
func JobPath(job string) string { return "/permits/new?job=" + url.QueryEscape(job) }

// TagPath returns a tag's address.
func TagPath(code string) string { return "/T/" + url.PathEscape(code) }

// LooksPath returns the address of the second person's walk of a permit.
func LooksPath(id permits.PermitID) string { return PermitPath(id) + "/looks" }

// AtWorkPath returns the address of what is looked after where a permit's people work.
func AtWorkPath(id permits.PermitID) string { return PermitPath(id) + "/at-work" }

// WalkPath returns the address of a permit's walk.
func WalkPath(id permits.PermitID) string { return PermitPath(id) + "/walk" }

// PermitPath returns the address of a permit's page.
func PermitPath(id permits.PermitID) string { return "/permits/" + strconv.FormatInt(int64(id), 10) }
