package piecefile

func (r *reader) checkCircles() {}
func (r *reader) checkEndless() {}
