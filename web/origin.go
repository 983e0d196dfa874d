package web

import (
	"net"
	"net/http"
	"slices"
	"strings"
)

// policy is what the pages may load and do. Nothing is inline; 'wasm-unsafe-eval' is for the scanner in the page.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: " +
	"blob:; " +
	"media-src 'self' blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guarded puts the doors of the whole site around h, outermost first: the names by which it may be asked, the headers
// that every answer carries, requests from other sites' pages, the session.
func (s *Server) guarded(h http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "This form was not sent from a page of this program. Open the page again and send it from there.",
			http.StatusForbidden)
	}))
	return s.knownHost(headers(cross.Handler(s.sessions.LoadAndSave(h))))
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

// headers returns every answer what a browser must know about it. Referrer-Policy stays same-origin: tag addresses
// carry a code, and no-referrer would make browsers send "Origin: null" with our own forms.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}
