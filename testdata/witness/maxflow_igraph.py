"""Maximum flow by igraph; see README.md."""
import sys
import time

import igraph


def main():
    words = sys.stdin.read().split()
    nodes, source, sink, arcs = (int(w) for w in words[:4])
    rest = words[4:]
    pairs = list(zip(map(int, rest[0::3]), map(int, rest[1::3])))
    if len(pairs) != arcs:
        sys.exit(f"{len(pairs)} arcs, want {arcs}")
    graph = igraph.Graph(n=nodes, edges=pairs, directed=True)
    capacity = [float(w) for w in rest[2::3]]
    start = time.process_time()
    value = graph.maxflow_value(source, sink, capacity)
    print(int(value), time.process_time() - start)


main()
