// Package authority makes and keeps a small certificate authority of the ship's own, so that phones can reach the pages
// over TLS and use their camera inside a page.
//
// The authority can vouch only for the names and addresses it was made for (X.509 name constraints): whoever steals its
// key can impersonate this register to the phones that trust it, and nothing else. It knows nothing of permits; begin
// with Make and Open.
package authority
