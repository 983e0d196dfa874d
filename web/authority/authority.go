package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Files of the authority in its folder. The key files are readable only by their owner.
const (
	rootFile    = "authority.pem"
	rootKeyFile = "authority.key"
)

// How long certificates hold: the authority as long as a ship's PC, a server's as long as phones accept.
const (
	rootLife   = 10 * 365 * 24 * time.Hour
	serverLife = 397 * 24 * time.Hour
	clockSlack = 24 * time.Hour // a phone's clock may be behind
)

// Authority is the ship's own certificate authority.
type Authority struct {
	root *x509.Certificate
	key  *ecdsa.PrivateKey
	pem  []byte
}

// ErrExists says that the folder holds an authority already: making another would turn every phone away.
var ErrExists = errors.New("this folder has an authority already")

// ErrMissing says that the folder holds no authority.
var ErrMissing = errors.New("this folder has no authority; make one with: stillwatch tls init")

// Make makes an authority in a folder for these host names and IP addresses, which are all that it can ever vouch for.
// It is an error if hosts is empty, or if the folder has one (ErrExists).
func Make(dir string, hosts []string, now time.Time) (*Authority, error) {
	names, addresses := split(hosts)
	if len(names)+len(addresses) == 0 {
		return nil, errors.New("make authority: no host name or address was given")
	}
	if _, err := os.Stat(filepath.Join(dir, rootKeyFile)); err == nil {
		return nil, ErrExists
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := serialNumber()
	if err != nil {
		return nil, err
	}
	root := &x509.Certificate{
		SerialNumber:                serial,
		Subject:                     pkix.Name{CommonName: "Stillwatch authority for " + strings.Join(hosts, ", ")},
		NotBefore:                   now.Add(-clockSlack),
		NotAfter:                    now.Add(rootLife),
		IsCA:                        true,
		BasicConstraintsValid:       true,
		MaxPathLenZero:              true,
		KeyUsage:                    x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         names,
		PermittedIPRanges:           ranges(addresses),
	}
	if len(names) == 0 {
		root.ExcludedDNSDomains = []string{""} // no name at all
	}
	if len(addresses) == 0 {
		root.ExcludedIPRanges = everyAddress()
	}
	der, err := x509.CreateCertificate(rand.Reader, root, root, &key.PublicKey, key)
	if err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	if err := keep(dir, der, key); err != nil {
		return nil, fmt.Errorf("keep authority: %w", err)
	}
	return Open(dir)
}

// Open reads the authority of a folder; ErrMissing if there is none.
func Open(dir string) (*Authority, error) {
	text, err := os.ReadFile(filepath.Join(dir, rootFile))
	if errors.Is(err, os.ErrNotExist) {
		return nil, ErrMissing
	}
	if err != nil {
		return nil, err
	}
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, rootFile), filepath.Join(dir, rootKeyFile))
	if err != nil {
		return nil, fmt.Errorf("read authority: %w", err)
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, fmt.Errorf("read authority: its key is %T, not ECDSA", pair.PrivateKey)
	}
	return &Authority{root: pair.Leaf, key: key, pem: text}, nil
}

// Server makes a certificate for the server under these hosts, which must be among those the authority was made for.
// A new one is made at each start, so that it never runs out while the program is looked after.
func (a *Authority) Server(hosts []string, now time.Time) (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, err
	}
	serial, err := serialNumber()
	if err != nil {
		return tls.Certificate{}, err
	}
	names, addresses := split(hosts)
	leaf := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Stillwatch"},
		NotBefore:    now.Add(-clockSlack),
		NotAfter:     earlier(now.Add(serverLife), a.root.NotAfter),
		KeyUsage:     x509.KeyUsageDigitalSignature,
		ExtKeyUsage:  []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:     names,
		IPAddresses:  addresses,
	}
	der, err := x509.CreateCertificate(rand.Reader, leaf, a.root, &key.PublicKey, a.key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make server certificate: %w", err)
	}
	made := tls.Certificate{Certificate: [][]byte{der, a.root.Raw}, PrivateKey: key}
	if made.Leaf, err = x509.ParseCertificate(der); err != nil {
		return tls.Certificate{}, err
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.root)
	for _, host := range hosts {
		if _, err := made.Leaf.Verify(x509.VerifyOptions{DNSName: host, Roots: roots, CurrentTime: now}); err != nil {
			return tls.Certificate{}, fmt.Errorf("the authority was not made for %s: %w", host, err)
		}
	}
	return made, nil
}

// PEM returns the authority's certificate, which phones are told to trust. It holds no secret.
func (a *Authority) PEM() []byte { return a.pem }

// DER returns the same certificate in the form that phones install by opening it.
func (a *Authority) DER() []byte { return a.root.Raw }

// Fingerprint returns the SHA-256 of the certificate in groups of four hex digits, to be compared with the phone's.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.root.Raw)
	text := strings.ToUpper(hex.EncodeToString(sum[:]))
	var groups []string
	for i := 0; i < len(text); i += 4 {
		groups = append(groups, text[i:i+4])
	}
	return strings.Join(groups, " ")
}

// Until returns the moment after which no phone trusts the authority any more.
func (a *Authority) Until() time.Time { return a.root.NotAfter }

func keep(dir string, der []byte, key *ecdsa.PrivateKey) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	// The key first: a certificate without its key would look like an authority that is there.
	if err := os.WriteFile(filepath.Join(dir, rootKeyFile),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, rootFile), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		0o644)
}

func serialNumber() (*big.Int, error) {
	return rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
}

// split tells addresses from names.
func split(hosts []string) (names []string, addresses []net.IP) {
	for _, h := range hosts {
		if ip := net.ParseIP(h); ip != nil {
			addresses = append(addresses, ip)
		} else if h != "" {
			names = append(names, h)
		}
	}
	return names, addresses
}

// ranges returns the one-address network of each address.
func ranges(addresses []net.IP) []*net.IPNet {
	var out []*net.IPNet
	for _, ip := range addresses {
		if four := ip.To4(); four != nil {
			ip = four
		}
		out = append(out, &net.IPNet{IP: ip, Mask: net.CIDRMask(8*len(ip), 8*len(ip))})
	}
	return out
}

func everyAddress() []*net.IPNet {
	return []*net.IPNet{{IP: net.IPv4zero.To4(), Mask: net.CIDRMask(0, 32)},
		{IP: net.IPv6zero, Mask: net.CIDRMask(0, 128)}}
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
