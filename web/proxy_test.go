package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// TestOnlyADeclaredProxyTellsTheAddress signs in with headers that name another address. Nobody is believed without
// being declared; of a declared proxy the last address counts that is no proxy's, so that a client cannot put one
// before it (RFC 7239, 8.1 says why).
func TestOnlyADeclaredProxyTellsTheAddress(t *testing.T) {
	a := ship(t)
	for name, c := range map[string]struct {
		proxies         []string
		forwarded, want string
	}{
		"no proxy, no header":            {nil, "", "192.0.2.7"},
		"no proxy, forged":               {nil, "198.51.100.1", "192.0.2.7"},
		"another proxy is declared":      {[]string{"203.0.113.0/24"}, "198.51.100.1", "192.0.2.7"},
		"a declared proxy":               {[]string{"192.0.2.7"}, "198.51.100.1", "198.51.100.1"},
		"a declared range":               {[]string{"192.0.2.0/24"}, "198.51.100.1", "198.51.100.1"},
		"forged before the proxy's word": {[]string{"192.0.2.7"}, "198.51.100.66, 198.51.100.1", "198.51.100.1"},
		"through two declared proxies":   {[]string{"192.0.2.0/24"}, "198.51.100.1, 192.0.2.9", "198.51.100.1"},
		"nonsense through the proxy":     {[]string{"192.0.2.7"}, "no address", "192.0.2.7"},
	} {
		s, err := New(a.reg, Config{Now: a.clock, TrustedProxies: c.proxies})
		if err != nil {
			t.Fatal(err)
		}
		form := url.Values{"person": {"tech"}, "pin": {testPINs["tech"]}}
		req := httptest.NewRequest(http.MethodPost, "http://localhost/sign-in", strings.NewReader(form.Encode()))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "same-origin")
		if req.RemoteAddr = "192.0.2.7:4711"; c.forwarded != "" {
			req.Header.Set("X-Forwarded-For", c.forwarded)
		}
		got := httptest.NewRecorder()
		s.Handler().ServeHTTP(got, req)
		list, err := a.reg.Entries(t.Context(), register.EntryQuery{Kind: permits.KindSignIn, Limit: 1})
		if err != nil || got.Code != http.StatusSeeOther || len(list) != 1 {
			t.Fatalf("%s: sign in = %d, %v, %v", name, got.Code, list, err)
		}
		if in := list[0].Act.(permits.SignIn); in.Device != c.want {
			t.Errorf("%s: the sign-in is of %s, want %s", name, in.Device, c.want)
		}
	}
	if _, err := New(a.reg, Config{TrustedProxies: []string{"not an address"}}); err == nil {
		t.Error("New() took a proxy that is no address")
	}
}
