package postgres

// ForgetListen makes the keeper do as on an engine without LISTEN and NOTIFY.
func (k *ServerKeeper) ForgetListen() { k.listens = false }

// Begun tells whether all who follow know where they begin.
func (k *ServerKeeper) Begun() bool {
	list := k.hub.all()
	for _, f := range list {
		f.mu.Lock()
		begun := f.begun
		f.mu.Unlock()
		if !begun {
			return false
		}
	}
	return len(list) > 0
}
