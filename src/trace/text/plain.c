/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain rows to numbers, as fast as the machine allows. Neighbouring rows look
 * alike: the same columns, as many digits, the mark at the same place. The form
 * of a cell is kept, and the next row is compared with it eight bytes at a
 * time; where it fits, the digits are drawn together and summed by three
 * multiplications, without a loop over characters. Where it does not, the cell
 * is looked at byte by byte and gives a new form. Whatever is no plain number
 * is left to the judge in rows.c.
 *
 *   "-12.75,"   literal  - . ,     digits  12 75     divisor -100
 *
 * Exact: at most 15 digits lie below 2^53, and one division of two exact
 * numbers is correctly rounded. Up to 19 are left to be_number_ratio. */
#include "trace/sizes.h"
#include "trace/text/text.h"

#include <math.h>
#include <string.h>

enum { BYTES = 8, DIGITS_MAX = 19, SHORT_DIGITS = 15, QUOTE = '"' };

#define ALL_BYTES(b) (UINT64_C(0x0101010101010101) * (b))

static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

/* ---- eight bytes ---- */

/* The first byte is the lowest, on every machine. */
static inline uint64_t load(const char *p)
{
  const unsigned char *b = (const unsigned char *)p;
  return (uint64_t)b[0] | (uint64_t)b[1] << 8 | (uint64_t)b[2] << 16 | (uint64_t)b[3] << 24 |
         (uint64_t)b[4] << 32 | (uint64_t)b[5] << 40 | (uint64_t)b[6] << 48 | (uint64_t)b[7] << 56;
}

static uint64_t byte_at(size_t i, unsigned value)
{
  return (uint64_t)value << (8 * i);
}

/* Eight digits, the first one in the lowest byte, as a number: pairs, then
 * fours, then all eight. */
static inline uint64_t sum_digits(uint64_t x)
{
  x = (x * ((10 << 8) + 1)) >> 8 & UINT64_C(0x00FF00FF00FF00FF);
  x = (x * ((100 << 16) + 1)) >> 16 & UINT64_C(0x0000FFFF0000FFFF);
  return (x * ((UINT64_C(10000) << 32) + 1)) >> 32;
}

static inline uint64_t turn(uint64_t x, unsigned bits)
{
  return x << bits | x >> (-bits & 63);
}

/* The digits of one word of a form, side by side; the bits of *wrong are set
 * where a byte is not what the form says. A literal must be 0 after the
 * exclusive or, and a digit at most 9: what is added brings more to the top bit
 * of its byte. */
static inline uint64_t match_word(const struct be_form_word *word, const char *p, uint64_t *wrong)
{
  uint64_t x = (load(p) ^ word->fixed) & word->seen;
  *wrong |= (x + word->limit) | x;
  return turn((x & word->before) | (x >> 8 & word->after), word->turn);
}

#define NO_MATCH UINT64_MAX

/* The digits of a cell that fits its form, as one number. Up to eight digits in
 * two words are drawn together; more are summed by word. */
static inline uint64_t match(const struct be_form *form, const char *p)
{
  uint64_t wrong = 0, x = match_word(&form->word[0], p, &wrong);
  if (form->kind == BE_FORM_TWO) x |= match_word(&form->word[1], p + BYTES, &wrong);
  uint64_t sum = sum_digits(x);
  if (form->kind == BE_FORM_LONG)
    for (size_t w = 1; w < BE_FORM_WORDS; w++)
      sum =
          sum * form->word[w].times + sum_digits(match_word(&form->word[w], p + w * BYTES, &wrong));
  return wrong & ALL_BYTES(0x80) ? NO_MATCH : sum;
}

/* No bytes fit this one: adding brings more to the top bit of any. */
static const struct be_form no_form = {.word = {{.limit = ALL_BYTES(0x80)}}};

/* ---- forms ---- */

/* The end of a row at p: its length, 0 if there is none. */
static size_t line_end(const struct be_plain *plain, const char *p)
{
  if (*p == plain->eol) return 1;
  return *p == '\r' && plain->eol == '\n' && p[1] == '\n' ? 2 : 0;
}

/* Looks at the number in column c at p; false when it is no plain one. */
static bool take_apart(const struct be_plain *plain, size_t c, const char *p,
                       struct be_cell_parts *parts)
{
  const char *q = p, *from;
  while (*q == ' ') q++;
  bool quoted = *q == QUOTE;
  q += quoted;
  parts->negative = *q == '-';
  bool marked = quoted || *q == '-' || *q == '+';
  if (*q == '-' || *q == '+') q++;
  from = q;
  while (be_is_digit(*q)) q++;
  size_t count = (size_t)(q - from);
  parts->first = (size_t)(from - p);
  parts->mark = parts->after = parts->last = (size_t)(q - p);
  if (*q == plain->decimal && (plain->decimal != plain->delimiter || quoted)) {
    from = ++q;
    while (be_is_digit(*q)) q++;
    count += (size_t)(q - from);
    parts->after = (size_t)(from - p);
    parts->last = (size_t)(q - p);
  }
  parts->empty = count == 0;
  if (parts->empty && (parts->first != parts->last || marked)) return false;
  if (parts->empty && plain->delimiter == ' ') return false;
  if (quoted && *q++ != QUOTE) return false;
  bool last = c + 1 == plain->columns;
  if (plain->delimiter != ' ' || last)
    while (*q == ' ') q++;
  size_t end = last ? line_end(plain, q) : *q == plain->delimiter;
  parts->end = (size_t)(q - p) + end;
  return end > 0 && count <= DIGITS_MAX && parts->end <= BE_FORM_WORDS * BYTES;
}

/* Describes bytes [from, from + 8) of a cell; *past is the byte after its last
 * digit, once they are side by side. Returns how many digits there are. */
static size_t make_word(const char *p, const struct be_cell_parts *parts, size_t from,
                        struct be_form_word *word, size_t *past)
{
  size_t digits = 0;
  for (size_t k = 0; k < BYTES && from + k < parts->end; k++) {
    size_t i = from + k;
    bool before = i >= parts->first && i < parts->mark;
    bool after = i >= parts->after && i < parts->last;
    /* Past the mark, digits move one byte down where the mark is in this word. */
    bool moves = after && parts->mark >= from && parts->after > parts->mark;
    word->seen |= byte_at(k, 0xFF);
    word->fixed |= byte_at(k, before || after ? '0' : (unsigned char)p[i]);
    word->limit |= byte_at(k, before || after ? 0x76 : 0x7F);
    if (before || (after && !moves)) word->before |= byte_at(k, 0xFF);
    if (moves) word->after |= byte_at(k - 1, 0xFF);
    if (before || after) digits++, *past = moves ? k : k + 1;
  }
  return digits;
}

static void make_form(const char *p, const struct be_cell_parts *parts, struct be_form *form)
{
  size_t digits[BE_FORM_WORDS] = {0}, past[BE_FORM_WORDS], all = 0;
  *form = (struct be_form){.length = parts->end, .parts = *parts};
  for (size_t w = 0; w < BE_FORM_WORDS; w++) {
    past[w] = BYTES;
    digits[w] = make_word(p, parts, w * BYTES, &form->word[w], &past[w]);
    all += digits[w];
  }
  form->kind = parts->end <= BYTES                       ? BE_FORM_ONE
               : parts->end <= 2 * BYTES && all <= BYTES ? BE_FORM_TWO
                                                         : BE_FORM_LONG;
  for (size_t w = 0; w < BE_FORM_WORDS; w++) {
    /* Literals before the digits are 0 and may come round to the top. */
    size_t behind = w == 0 && form->kind == BE_FORM_TWO ? digits[1] : 0;
    form->word[w].turn = (unsigned)(8 * (2 * BYTES - past[w] - behind)) % 64;
    form->word[w].times = (uint64_t)power_of_ten[digits[w]];
  }
  form->decimals = (int)(parts->last - parts->after);
  form->wide = all > SHORT_DIGITS;
  double divisor = form->wide ? 1 : power_of_ten[form->decimals];
  form->divisor = parts->empty ? NAN : parts->negative ? -divisor : divisor;
}

static bool same_parts(const struct be_cell_parts *a, const struct be_cell_parts *b)
{
  return a->first == b->first && a->mark == b->mark && a->after == b->after && a->last == b->last &&
         a->end == b->end && a->negative == b->negative;
}

/* Makes a form for the number in column c at p the current one; false when it
 * is no plain number. A known form that fails to match `again` is not taken. */
static bool find_form(struct be_plain *plain, size_t c, const char *p, bool again)
{
  struct be_column_forms *forms = &plain->forms[c];
  struct be_cell_parts parts;
  if (!take_apart(plain, c, p, &parts)) return false;
  if (parts.empty && !plain->may_be_empty[c]) return false;
  for (size_t k = 0; k < forms->count && !again; k++)
    if (same_parts(&forms->form[k].parts, &parts)) {
      forms->current = k;
      return true;
    }
  forms->current = forms->count < BE_FORMS ? forms->count++ : forms->oldest++ % BE_FORMS;
  make_form(p, &parts, &forms->form[forms->current]);
  return true;
}

/* ---- columns without a role ---- */

/* The length of a cell of any text with its delimiter; 0 when it has quotes or
 * may start a remark, or the row ends too early or goes on. */
static size_t pass_cell(const struct be_plain *plain, size_t c, const char *p)
{
  const char *q = p;
  bool last = c + 1 == plain->columns;
  while (*q == ' ') q++;
  if (*q == '#' || *q == '%') return 0;
  while (*q && *q != plain->delimiter && *q != plain->eol && *q != '\r' && *q != QUOTE) q++;
  if (last && plain->delimiter == ' ')
    while (*q == ' ') q++;
  size_t end = last ? line_end(plain, q) : *q == plain->delimiter;
  return end ? (size_t)(q - p) + end : 0;
}

/* ---- rows ---- */

/* One column of the row loop. */
struct step {
  const struct be_form *form;
  double *out; /* null: not needed */
};

static void set_step(const struct be_plain *plain, size_t c, const struct be_run *run,
                     struct step *step)
{
  const struct be_column_forms *forms = &plain->forms[c];
  unsigned char slot = plain->slot[c];
  step->form = forms->free || !forms->count ? &no_form : &forms->form[forms->current];
  step->out = slot == BE_NO_SLOT ? NULL : run->column[slot];
}

/* A cell that did not fit its form: either the column has another form now, and
 * *length is 0, or it may hold any text, and *length is that of the cell. False
 * when the row is no plain one. */
static bool after_miss(struct be_plain *plain, size_t c, const char *p, bool again, size_t *length)
{
  struct be_column_forms *forms = &plain->forms[c];
  *length = 0;
  if (!forms->free && find_form(plain, c, p, again)) return true;
  if (plain->slot[c] != BE_NO_SLOT) return false;
  forms->free = true;
  *length = pass_cell(plain, c, p);
  return *length > 0;
}

/* False for the few that only the C library can round. */
static bool wide_value(const struct be_form *form, uint64_t digits, double *value)
{
  if (!be_number_ratio(digits, form->decimals, value)) return false;
  *value *= form->divisor;
  return true;
}

/* Most decimals of the forms in use. */
static void note_decimals(const struct be_plain *plain, struct be_run *run)
{
  for (size_t c = 0; c < plain->columns; c++) {
    const struct be_column_forms *forms = &plain->forms[c];
    if (plain->slot[c] == BE_NO_SLOT) continue;
    int decimals = forms->form[forms->current].decimals;
    if (decimals > run->decimals[plain->slot[c]]) run->decimals[plain->slot[c]] = decimals;
  }
}

/* A row of empty cells may be a blank line or the end: for the judge. */
static bool has_force(const struct be_plain *plain)
{
  for (size_t c = 0; c < plain->columns; c++) {
    const struct be_column_forms *forms = &plain->forms[c];
    if (plain->is_force[c] && !forms->form[forms->current].parts.empty) return true;
  }
  return false;
}

void be_plain_read(struct be_plain *plain, const char **at, const char *end, struct be_run *run)
{
  struct step steps[BE_TRACE_COLUMNS_MAX], *last = steps + plain->columns;
  const size_t room = run->room;
  const char *row = *at, *missed = NULL;
  bool changed = true;
  size_t n = 0;
  run->n = 0;
  memset(run->decimals, 0, sizeof run->decimals);
  if (plain->off) return;
  for (size_t c = 0; c < plain->columns; c++) set_step(plain, c, run, &steps[c]);
  while (row < end && n < room) {
    const char *p = row;
    for (struct step *step = steps; step < last;) {
      uint64_t digits = match(step->form, p);
      if (digits == NO_MATCH) {
        size_t length, c = (size_t)(step - steps);
        if (!after_miss(plain, c, p, missed == p, &length)) goto done;
        missed = p;
        changed = true;
        set_step(plain, c, run, step);
        p += length;
        step += length > 0;
        continue;
      }
      if (step->form->wide && step->out) {
        if (!wide_value(step->form, digits, &step->out[n])) goto done;
      } else if (step->out) {
        step->out[n] = (double)(int64_t)digits / step->form->divisor;
      }
      p += step->form->length;
      step++;
    }
    if (p - row > BE_WINDOW || (changed && !has_force(plain))) break;
    row = p;
    n++;
    if (changed) note_decimals(plain, run);
    changed = false;
  }
done:
  run->n = n;
  *at = row;
}
