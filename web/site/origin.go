package site

import (
	"net/http"
	"net/url"
	"strings"
)

// Policy is what the pages may load and do. Nothing is inline; 'wasm-unsafe-eval' is for the scanner in the page.
const Policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: " +
	"blob:; " +
	"media-src 'self' blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// Headers tells every answer what a browser must know about it. Referrer-Policy stays same-origin: tag addresses
// carry a code, and no-referrer would make browsers send "Origin: null" with our own forms.
func Headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", Policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// OwnForms refuses forms that were sent from another site's page.
func OwnForms(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "This form was not sent from a page of this program. Open the page again and send it from there.",
			http.StatusForbidden)
	}))
	return cross.Handler(next)
}

// LocalPath returns the address if it is one of our own pages, else "". Anything that a browser could take for another
// site is not.
func LocalPath(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") || len(to) > 500 {
		return ""
	}
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" {
		return ""
	}
	return to
}
