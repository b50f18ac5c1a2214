package postgres

// ForgetListen makes the keeper do as on an engine without LISTEN and NOTIFY.
func (k *Keeper) ForgetListen() { k.listens = false }
