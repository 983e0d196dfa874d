package sat

// activityHeap has the busiest variable on top, and of equals the one with the lower number. It is a binary heap as in
// container/heap, without the price of an interface at every comparison: a search asks it more than anything else.
type activityHeap struct {
	list     []int32
	at       []int32 // per variable: its place in list, -1 of none
	activity []float64
}

func (h *activityHeap) busier(a, b int32) bool {
	if h.activity[a] == h.activity[b] {
		return a < b
	}
	return h.activity[a] > h.activity[b]
}

// push puts a variable in.
func (h *activityHeap) push(v int32) {
	h.list = append(h.list, v)
	h.up(len(h.list)-1, v)
}

// pop takes the busiest variable out.
func (h *activityHeap) pop() int32 {
	top, last := h.list[0], h.list[len(h.list)-1]
	h.list = h.list[:len(h.list)-1]
	if len(h.list) > 0 {
		h.down(0, last)
	}
	h.at[top] = -1
	return top
}

// up puts a variable at place i or above.
func (h *activityHeap) up(i int, v int32) {
	for i > 0 {
		above := (i - 1) / 2
		if !h.busier(v, h.list[above]) {
			break
		}
		h.list[i] = h.list[above]
		h.at[h.list[i]] = int32(i)
		i = above
	}
	h.list[i], h.at[v] = v, int32(i)
}

// down puts a variable at place i or below.
func (h *activityHeap) down(i int, v int32) {
	for {
		below := 2*i + 1
		if below >= len(h.list) {
			break
		}
		if below+1 < len(h.list) && h.busier(h.list[below+1], h.list[below]) {
			below++
		}
		if !h.busier(h.list[below], v) {
			break
		}
		h.list[i] = h.list[below]
		h.at[h.list[i]] = int32(i)
		i = below
	}
	h.list[i], h.at[v] = v, int32(i)
}
