package web

import (
	"net"
	"net/http"
	"slices"
	"strings"

	"stillwatch/web/site"
)

// guarded puts the doors of the whole site around h, outermost first: the names by which it may be asked, the headers
// that every answer carries, requests from other sites' pages, the session.
func (s *Server) guarded(h http.Handler) http.Handler {
	return s.knownHost(site.Headers(site.OwnForms(s.sessions.LoadAndSave(h))))
}

// knownHost refuses to answer under a name that nobody gave to the program. Without it a foreign page whose name is
// made to point here would count as our own.
func (s *Server) knownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.isKnownHost(r.Host) {
			http.Error(w, "This program is not known by the name in the address. Ask for the address that stands on the tags.",
				http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (s *Server) isKnownHost(hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
	if host == "localhost" {
		return true
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() {
		return true
	}
	return slices.ContainsFunc(s.cfg.Hosts,
		func(known string) bool { return strings.EqualFold(strings.Trim(known, "[]"), host) })
}
