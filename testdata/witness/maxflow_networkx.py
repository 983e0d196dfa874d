"""Maximum flow by networkx; see README.md."""
import sys
import time

import networkx


def main():
    words = sys.stdin.read().split()
    nodes, source, sink, arcs = (int(w) for w in words[:4])
    rest = [int(w) for w in words[4:]]
    if len(rest) != 3 * arcs:
        sys.exit(f"{len(rest) // 3} arcs, want {arcs}")
    graph = networkx.DiGraph()
    graph.add_nodes_from(range(nodes))
    for a, b, c in zip(rest[0::3], rest[1::3], rest[2::3]):
        if graph.has_edge(a, b):
            graph[a][b]["capacity"] += c
        else:
            graph.add_edge(a, b, capacity=c)
    start = time.process_time()
    value = networkx.maximum_flow_value(graph, source, sink)
    print(value, time.process_time() - start)


main()
