// Maximum flow by the Boost Graph Library's Boykov-Kolmogorov; see README.md.
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/boykov_kolmogorov_max_flow.hpp>
#include <cstdio>
#include <ctime>

using namespace boost;
using Traits = adjacency_list_traits<vecS, vecS, directedS>;
using Graph = adjacency_list<
    vecS, vecS, directedS,
    property<vertex_index_t, long,
             property<vertex_color_t, default_color_type,
                      property<vertex_distance_t, long,
                               property<vertex_predecessor_t, Traits::edge_descriptor>>>>,
    property<edge_capacity_t, long long,
             property<edge_residual_capacity_t, long long,
                      property<edge_reverse_t, Traits::edge_descriptor>>>>;

int main() {
  long nodes, source, sink, arcs;
  if (std::scanf("%ld %ld %ld %ld", &nodes, &source, &sink, &arcs) != 4) return 1;
  Graph g(nodes);
  auto capacity = get(edge_capacity, g);
  auto reverse = get(edge_reverse, g);
  for (long i = 0; i < arcs; i++) {
    long a, b;
    long long c;
    if (std::scanf("%ld %ld %lld", &a, &b, &c) != 3) return 1;
    auto there = add_edge(a, b, g).first;
    auto back = add_edge(b, a, g).first;
    capacity[there] = c;
    capacity[back] = 0;
    reverse[there] = back;
    reverse[back] = there;
  }
  std::clock_t start = std::clock();
  long long value = boykov_kolmogorov_max_flow(g, vertex(source, g), vertex(sink, g));
  std::printf("%lld %.9f\n", value, double(std::clock() - start) / CLOCKS_PER_SEC);
}
