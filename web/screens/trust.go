package screens

import "time"

// Trust is the ship's own certificate authority as phones are told of it. It holds no secret.
type Trust struct {
	PEM, DER    []byte    // the authority's certificate in both forms
	Fingerprint string    // SHA-256 of it, in groups
	Until       time.Time // after which no phone trusts it any more
	Plain       string    // address of the plain pages, where a phone that does not trust yet begins
	Secure      string    // address of the secure pages
}

// TrustPage tells how a phone comes to trust the ship's authority.
type TrustPage struct {
	Frame
	Trust
	Address string // of this very page, on the plain side
	QR      qrPicture
	Secured bool // the page came over TLS
	Groups  []string
}
