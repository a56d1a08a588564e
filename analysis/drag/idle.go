package drag

// compareIdles is written below.
func (c *correction) compareIdles() {}
