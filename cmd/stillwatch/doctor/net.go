package doctor

import (
	"context"
	"errors"
	"net"
	"net/url"
	"slices"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/authority"
)

// certificateSoon is how long before its end a certificate is spoken of: time enough to reach every phone.
const certificateSoon = 60 * 24 * time.Hour

// lookAtCertificates looks until when the ship's own authority holds.
func (d *doctor) lookAtCertificates() {
	const what = "certificates"
	const do = "Keep the folder tls elsewhere, run stillwatch tls init, and trust the new authority on every phone."
	a, err := authority.Open(line.AuthorityFolder(d.data))
	switch {
	case errors.Is(err, authority.ErrMissing):
		d.say(gradeOK, what, "", "there is no authority of the ship's own: phones read tags with their own camera app, not "+
			"in the page.")
	case err != nil:
		d.say(gradeWrong, what, do, "the authority cannot be read: %v.", err)
	case d.now.After(a.Until()):
		d.say(gradeWrong, what, do, "the authority ended on %s: no phone trusts it any more.",
			a.Until().Format(time.DateOnly))
	case a.Until().Sub(d.now) < certificateSoon:
		d.say(gradeLook, what, do, "the authority ends on %s.", a.Until().Format(time.DateOnly))
	default:
		d.say(gradeOK, what, "", "the authority holds until %s.", a.Until().Format(time.DateOnly))
	}
}

// lookupTime is how long a name may take to be found.
const lookupTime = 3 * time.Second

// lookAtAddress looks whether the address on the tags leads to this machine.
func (d *doctor) lookAtAddress(ctx context.Context) {
	const what = "address"
	const do = "Give serve an address of this machine on the ship's network, such as --url http://10.0.0.5:8080, before " +
		"tags are printed."
	if d.url == "" {
		d.say(gradeLook, what, "Give with --url what serve is given, so that it can be looked at.",
			"none was given; serve would work out %s.", line.FirstAddress())
		return
	}
	u, err := url.Parse(d.url)
	switch {
	case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "":
		d.say(gradeWrong, what, do, "%q is not an address of a web page.", d.url)
		return
	case u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.Fragment != "" || u.User != nil:
		d.say(gradeWrong, what, do, "%q has more than a name and a port: tags carry the bare address.", d.url)
		return
	}
	d.lookAtHost(ctx, u.Hostname(), do)
	if u.Scheme == "https" {
		d.lookAtVouching(u.Hostname())
	}
}

// lookAtHost looks whether a name or address is this machine's.
func (d *doctor) lookAtHost(ctx context.Context, host, do string) {
	const what = "address"
	ctx, stop := context.WithTimeout(ctx, lookupTime)
	defer stop()
	addresses := []string{host}
	if net.ParseIP(host) == nil {
		var err error
		if addresses, err = d.lookup(ctx, host); err != nil {
			d.say(gradeWrong, what, "Have the name entered in the ship's network, or use this machine's address.",
				"the name %s is not found from here: %v.", host, err)
			return
		}
	}
	own, err := d.ownAddresses()
	switch {
	case err != nil:
		d.say(gradeLook, what, "Compare by hand.", "this machine's addresses cannot be told: %v.", err)
	case slices.ContainsFunc(addresses, func(a string) bool { ip := net.ParseIP(a); return ip != nil && ip.IsLoopback() }):
		d.say(gradeLook, what, do, "%s leads only from this machine to itself: no phone reaches it.", host)
	case slices.ContainsFunc(addresses, func(a string) bool { return slices.ContainsFunc(own, net.ParseIP(a).Equal) }):
		d.say(gradeOK, what, "", "%s is this machine.", host)
	default:
		d.say(gradeWrong, what, do, "%s (%s) is none of this machine's addresses (%s): scanned tags would lead elsewhere.",
			host, fewOf(addresses), fewOf(texts(own)))
	}
}

func (d *doctor) ownAddresses() ([]net.IP, error) {
	list, err := d.own()
	var out []net.IP
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok {
			out = append(out, n.IP)
		}
	}
	return out, err
}

// lookAtVouching looks whether the ship's authority can vouch for the name on the tags.
func (d *doctor) lookAtVouching(host string) {
	const what = "certificates"
	a, err := authority.Open(line.AuthorityFolder(d.data))
	if err != nil {
		d.say(gradeWrong, what, "Run stillwatch tls init with that name among --hosts, or use http.",
			"the address says https, but there is no authority to vouch for it.")
		return
	}
	if _, err := a.Server([]string{host}, d.now); err != nil {
		d.say(gradeWrong, what, "Use a name for which the authority was made, or make another one.", "%v.", err)
		return
	}
	d.say(gradeOK, what, "", "the authority can vouch for %s.", host)
}

func texts(list []net.IP) []string {
	out := make([]string, len(list))
	for i, ip := range list {
		out[i] = ip.String()
	}
	return out
}

// fewOf lists up to four, then says that there are more.
func fewOf(list []string) string {
	s := ""
	for i, a := range list {
		if i == 4 {
			return s + " …"
		}
		if i > 0 {
			s += ", "
		}
		s += a
	}
	return s
}
