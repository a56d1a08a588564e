package adapter

// lowLatency has nothing to do: the flag is Linux's.
func lowLatency(int) {}
