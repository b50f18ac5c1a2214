package postgres

// ForgetListen makes the keeper do as on an engine without LISTEN and NOTIFY.
func (k *ServerKeeper) ForgetListen() { k.listens = false }
