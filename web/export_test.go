package web

// CheapPassword hashes at a cost that tests can pay.
func CheapPassword(text string) (*Password, error) { return hashPassword(text, 1, 8) }
