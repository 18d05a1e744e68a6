/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/mixed/inside.h"

void *be_arena_array(struct be_arena *arena, size_t count, size_t size)
{
  if (count > SIZE_MAX / size) return NULL;
  return be_arena_alloc(arena, count ? count * size : size);
}

size_t be_nodes_term(const struct be_nodes *nodes, uint32_t node)
{
  size_t term = 0;
  while (node >= nodes->term_first[term + 1]) term++;
  return term;
}

size_t be_nodes_width(const struct be_nodes *nodes, uint32_t node)
{
  size_t term = be_nodes_term(nodes, node);
  return term < nodes->data->term_count ? nodes->data->terms[term].width : 1;
}

size_t be_nodes_row(const struct be_nodes *nodes, size_t i, struct be_entry *entries)
{
  const struct be_mixed_data *data = nodes->data;
  size_t count = 0;
  for (size_t t = 0; t < data->term_count; t++) {
    const struct be_mixed_term *term = &data->terms[t];
    struct be_entry *entry = &entries[count++];
    entry->node = nodes->term_first[t] + term->level[i];
    entry->width = (uint32_t)term->width;
    for (size_t c = 0; c < term->width; c++) entry->value[c] = term->z[c] ? term->z[c][i] : 1;
  }
  const struct be_mixed_design *fixed = &data->fixed;
  for (size_t k = fixed->start[i]; k < fixed->start[i + 1]; k++) {
    uint32_t which = nodes->kept[fixed->column[k]];
    if (which == BE_NOBODY) continue;
    struct be_entry *entry = &entries[count++];
    entry->node = nodes->term_first[data->term_count] + which;
    entry->width = 1;
    entry->value[0] = fixed->value ? fixed->value[k] : 1;
  }
  return count;
}
