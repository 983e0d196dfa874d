package web

import "time"

// cannedTrust is the page of an authority that does not exist.
func cannedTrust(b base) trustShowPage {
	const address = "http://192.168.1.10:8080/trust"
	qr, err := drawQR(address)
	if err != nil {
		panic(err) // the address is fixed above
	}
	page := trustShowPage{base: b, Address: address, QR: qr}
	page.Trust = Trust{Until: time.Date(2036, 11, 23, 0, 0, 0, 0, time.UTC), Plain: "http://192.168.1.10:8080",
		Secure: "https://192.168.1.10:8443/"}
	for range 16 {
		page.Groups = append(page.Groups, "5F0C")
	}
	return page
}
