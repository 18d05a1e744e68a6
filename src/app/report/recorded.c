/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/report/recorded.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { VALUES_SAID = 5 };

/* ---- a field in words; null: not recorded ---- */

typedef const char *words(const struct survey *survey, const struct be_pull *pull);

static const char *in_unit(const struct survey *survey, double value, const char *unit)
{
  return isnan(value) ? NULL : be_arena_format(survey->arena, "%.6g %s", value, unit);
}

static const char *design(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->design == BE_DESIGN_UNKNOWN ? NULL : be_design_word(pull->design);
}

static const char *soak(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->soak == BE_SOAK_UNKNOWN ? NULL : be_soak_word(pull->soak);
}

static const char *soak_time(const struct survey *survey, const struct be_pull *pull)
{
  return in_unit(survey, pull->soak_s / 60, "min");
}

static const char *speed(const struct survey *survey, const struct be_pull *pull)
{
  return in_unit(survey, pull->speed_m_s * 60e3, "mm/min");
}

static const char *length(const struct survey *survey, const struct be_pull *pull)
{
  return in_unit(survey, pull->length_m * 1e3, "mm");
}

static const char *tyer(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->tyer;
}

static const char *lubricant(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->lubricant;
}

static const char *session(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->session;
}

static const char *order(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return isnan(pull->order) ? NULL : "a number in its session";
}

static const char *bench(const struct survey *survey, const struct be_pull *pull)
{
  return pull->bench < 0 ? NULL : survey->record.benches[pull->bench].name;
}

static const char *calibration(const struct survey *survey, const struct be_pull *pull)
{
  return pull->calibration < 0 ? NULL : survey->record.calibrations[pull->calibration].is.name;
}

static const char *load(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  if (isnan(pull->load_N)) return NULL;
  return pull->load_text ? "typed" : "from the trace";
}

static const char *trace(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->trace ? "kept as it came" : NULL;
}

static const char *what(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->what == BE_WHAT_UNKNOWN ? NULL : be_what_word(pull->what);
}

static const char *where(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->where == BE_WHERE_UNKNOWN ? NULL : be_where_word(pull->where);
}

static const char *which(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->which == BE_WHICH_UNKNOWN ? NULL : be_which_word(pull->which);
}

static const char *judge(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->judged_by;
}

static const char *reason(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  return pull->reason;
}

static const char *evidence(const struct survey *survey, const struct be_pull *pull)
{
  (void)survey;
  if (!pull->evidence_count) return NULL;
  const char *name = pull->evidence[0].name;
  return name && strcmp(name, "none") == 0 ? "none taken" : "photo or clip named";
}

/* ---- of what it is asked; null: of all ---- */

typedef bool asked(const struct be_pull *pull);

static bool is_soaked(const struct be_pull *pull)
{
  return pull->soak == BE_SOAK_SOAKED;
}

static bool is_knotted(const struct be_pull *pull)
{
  return pull->design != BE_DESIGN_PLAIN;
}

static bool has_two(const struct be_pull *pull)
{
  return pull->line_b >= 0 || pull->design == BE_DESIGN_TWO_SAME ||
         pull->design == BE_DESIGN_TWO_DIFFERENT;
}

static bool has_gone(const struct be_pull *pull)
{
  return pull->what != BE_WHAT_NOTHING;
}

static bool is_void(const struct be_pull *pull)
{
  return pull->kind == BE_KIND_VOID;
}

static const struct of {
  asked *asked;
  const char *one, *many;
} of_pull = {NULL, "pull", "pulls"}, of_soaked = {is_soaked, "soaked pull", "soaked pulls"},
  of_knotted = {is_knotted, "pull of a knot", "pulls of knots"},
  of_two = {has_two, "pull of two lines or knots", "pulls of two lines or knots"},
  of_gone = {has_gone, "pull in which something let go", "pulls in which something let go"},
  of_void = {is_void, "void pull", "void pulls"}, of_spool = {NULL, "spool", "spools"},
  of_knot = {NULL, "knot", "knots"};

static const struct {
  const char *name;
  words *words;
  const struct of *of;
  const char *why;
  enum be_handling handling; /* where there are no words */
} fields[BE_TELLINGS] = {
    [BE_TELLS_DESIGN] = {"design of the specimen", design, &of_pull,
                         "two knots hold what the weaker one holds"},
    [BE_TELLS_SOAK] = {"dry or soaked", soak, &of_pull, "nylon is weaker where it took up water"},
    [BE_TELLS_SOAK_TIME] = {"how long it soaked", soak_time, &of_soaked,
                            "line goes on taking up water"},
    [BE_TELLS_SPEED] = {"speed of pulling", speed, &of_pull,
                        "what is pulled faster may hold more or less"},
    [BE_TELLS_LENGTH] = {"free length", length, &of_pull, "a longer piece has more weak places"},
    [BE_TELLS_TYER] = {"who tied it", tyer, &of_knotted, "hands differ"},
    [BE_TELLS_LUBRICANT] = {"what it was wetted with", lubricant, &of_knotted,
                            "a knot drawn up dry may start out damaged"},
    [BE_TELLS_SESSION] = {"session", session, &of_pull, "a day may shift all that is pulled on it"},
    [BE_TELLS_ORDER] = {"order of pulling", order, &of_pull,
                        "without it no drift over a session can be seen"},
    [BE_TELLS_BENCH] = {"bench", bench, &of_pull, "benches read and grip unlike"},
    [BE_TELLS_CALIBRATION] = {"calibration in force", calibration, &of_pull,
                              "without it a load is what the device says"},
    [BE_TELLS_LOAD] = {"load", load, &of_pull, "without it nothing is known of strength"},
    [BE_TELLS_TRACE] = {"trace", trace, &of_pull,
                        "slips on the way up and missed peaks show in a trace alone"},
    [BE_TELLS_WHAT] = {"what let go", what, &of_pull, "a slip is another failing than a break"},
    [BE_TELLS_WHERE] = {"where it let go", where, &of_gone,
                        "a part clear of the knot or at a grip tells of the line, not of the knot"},
    [BE_TELLS_WHICH] = {"which line or knot", which, &of_two,
                        "it tells which of the two is worse off"},
    [BE_TELLS_JUDGE] = {"who said what let go", judge, &of_pull,
                        "a reader wants to know whose eye it was"},
    [BE_TELLS_REASON] = {"reason", reason, &of_void, "a void without a reason cannot be weighed"},
    [BE_TELLS_EVIDENCE] = {"photo or clip", evidence, &of_pull,
                           "others cannot look again at what let go"},
#define HANDLED(field, name, of, why) [BE_TELLS_##field] = {name, NULL, of, why, BE_HANDLED_##field}
    HANDLED(SEATING, "load it was drawn up with", &of_knotted,
            "a knot that is not drawn up may slip, and one drawn up too hard start out damaged"),
    HANDLED(HELD, "how long that load was held", &of_knotted, "a knot settles while it is held"),
    HANDLED(TAG, "length of the tag end", &of_knotted, "a short tag may let a knot slip out"),
    HANDLED(GLUE, "glue", &of_knotted, "it may hold a knot that slips"),
    HANDLED(TIED, "when it was tied", &of_knotted, "a knot may settle or creep before its pull"),
    HANDLED(WATER, "which water", &of_soaked,
            "fresh and salt water both wet a line; whether alike is not known here"),
    HANDLED(
        GRIPS, "what gripped the ends", &of_pull,
        "a grip that spoils the line lowers what it is divided by, and raises every efficiency"),
    HANDLED(TEMPERATURE, "temperature of the air", &of_pull,
            "line may hold more or less in warmth and in cold"),
    HANDLED(HUMIDITY, "humidity of the air", &of_pull, "nylon is weaker where it took up water"),
#undef HANDLED
    [BE_TELLS_SOURCE] = {"where the line came from", NULL, &of_spool, "a reader wants to weigh it"},
    [BE_TELLS_OPENED] = {"when the spool was opened", NULL, &of_spool,
                         "line may weaken with age and light"},
    [BE_TELLS_TIE_TIME] = {"time to tie", NULL, &of_knot,
                           "strength is not all that counts on the water"},
    [BE_TELLS_GUIDES] = {"whether it passes guides", NULL, &of_knot,
                         "strength is not all that counts on the water"},
};

/* ---- counting ---- */

struct value {
  const char *text;
  size_t count, first; /* first: in the order met */
};

static int by_count(const void *a_, const void *b_)
{
  const struct value *a = a_, *b = b_;
  if (a->count != b->count) return a->count > b->count ? -1 : 1;
  return a->first < b->first ? -1 : 1;
}

/* Values beyond the first BE_TOLD_MAX are told of, not listed. */
static void count_value(struct value *values, size_t *count, const char *text)
{
  size_t i = 0;
  while (i < *count && strcmp(values[i].text, text) != 0) i++;
  if (i == *count && *count < BE_TOLD_MAX) {
    values[i] = (struct value){text, 0, i};
    ++*count;
  }
  if (i < BE_TOLD_MAX) values[i].count++;
}

static const char *list(const struct survey *survey, const struct value *values, size_t count)
{
  const char *text = "";
  size_t said = count > VALUES_SAID ? VALUES_SAID - 1 : count;
  for (size_t i = 0; i < said && text; i++)
    text = be_arena_format(survey->arena, "%s%s%s (%zu)", text,
                           i == 0           ? ""
                           : i + 1 == count ? " and "
                                            : ", ",
                           values[i].text, values[i].count);
  if (text && said < count)
    text = be_arena_format(survey->arena, "%s and %s%zu more", text,
                           count == BE_TOLD_MAX ? "at least " : "", count - said);
  return text;
}

/* ---- of what ---- */

static const char *words_of_line(const struct be_line *line, enum be_telling telling)
{
  return telling == BE_TELLS_SOURCE ? line->source : line->opened;
}

static const char *words_of_knot(const struct survey *survey, const struct be_knot *knot,
                                 enum be_telling telling)
{
  return telling == BE_TELLS_GUIDES ? knot->guides : in_unit(survey, knot->tie_s, "s");
}

/* Null: not recorded, or not asked of it. */
static const char *words_at(const struct survey *survey, enum be_telling telling, size_t i,
                            bool *counts)
{
  *counts = true;
  if (telling >= BE_TELLS_OF_LINES) return words_of_knot(survey, &survey->record.knots[i], telling);
  if (telling >= BE_TELLS_OF_PULLS) return words_of_line(&survey->record.lines[i], telling);
  const struct be_pull *pull = &survey->record.pulls[i];
  *counts = !fields[telling].of->asked || fields[telling].of->asked(pull);
  if (!*counts) return NULL;
  return fields[telling].words ? fields[telling].words(survey, pull)
                               : be_handled_words(survey, pull->handling, fields[telling].handling);
}

/* The lowest and the highest, where more are told than can be listed. */
static const char *add_range(const struct survey *survey, enum be_telling telling,
                             const struct be_told *told)
{
  enum be_handling handling = fields[telling].handling;
  const struct be_handled *low = NULL, *high = NULL;
  if (telling >= BE_TELLS_OF_PULLS || fields[telling].words || told->distinct <= VALUES_SAID ||
      be_handling_dimension(handling) == BE_DIMENSIONS)
    return told->values;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_handled *one = survey->record.pulls[i].handling;
    if (isnan(one[handling].number)) continue;
    if (!low || one[handling].number < low[handling].number) low = one;
    if (!high || one[handling].number > high[handling].number) high = one;
  }
  if (!low) return told->values;
  return be_arena_format(survey->arena, "from %s to %s: %s",
                         be_handled_words(survey, low, handling),
                         be_handled_words(survey, high, handling), told->values);
}

enum be_status be_told_of(const struct survey *survey, enum be_telling telling,
                          struct be_told *told, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  bool knots = telling >= BE_TELLS_OF_LINES, lines = !knots && telling >= BE_TELLS_OF_PULLS;
  size_t count = knots ? record->knots_count : lines ? record->lines_count : record->pulls_count;
  struct value *values = be_arena_alloc(survey->arena, BE_TOLD_MAX * sizeof *values);
  *told = (struct be_told){.name = fields[telling].name,
                           .of = fields[telling].of->one,
                           .of_all = fields[telling].of->many,
                           .every = !fields[telling].of->asked,
                           .why = fields[telling].why,
                           .values = ""};
  if (!values) return be_no_memory(err);
  for (size_t i = 0; i < count; i++) {
    bool counts = true;
    const char *text = words_at(survey, telling, i, &counts);
    told->n += counts;
    if (!text || !*text) continue;
    told->k++;
    count_value(values, &told->distinct, text);
  }
  qsort(values, told->distinct, sizeof *values, by_count);
  told->values = list(survey, values, told->distinct);
  if (told->values) told->values = add_range(survey, telling, told);
  return told->values ? BE_OK : be_no_memory(err);
}

/* ---- what nothing tells ---- */

static bool any_interests(const struct survey *survey)
{
  for (size_t i = 0; i < survey->record.trials_count; i++)
    if (survey->record.trials[i].rule[BE_RULE_INTERESTS]) return true;
  return false;
}

/* Of pulls of a kind that the book does not hold nothing could be told; of an empty book all. */
enum be_status be_untold_of(const struct survey *survey, struct be_untold **list, size_t *count,
                            struct be_err *err)
{
  enum { BESIDE_FIELDS = 2 };
  size_t n = 0;
  *list = be_arena_alloc(survey->arena, (BE_TELLINGS + BESIDE_FIELDS) * sizeof **list);
  if (!*list) return be_no_memory(err);
  for (int field = 0; field < BE_TELLINGS; field++) {
    struct be_told told;
    enum be_status status = be_told_of(survey, (enum be_telling)field, &told, err);
    if (status != BE_OK) return status;
    if (told.k || (!told.n && survey->record.pulls_count)) continue;
    const char *what =
        told.every ? told.name : be_arena_format(survey->arena, "%s (%s)", told.name, told.of_all);
    if (!what) return be_no_memory(err);
    (*list)[n++] = (struct be_untold){what, told.why};
  }
  if (!any_interests(survey))
    (*list)[n++] = (struct be_untold){"who paid, and other interests (a rule of a trial)",
                                      "a reader wants to weigh them"};
  (*list)[n++] = (struct be_untold){"how practised the tyer was at each knot",
                                    "an unpractised hand may tie a weaker knot"};
  *count = n;
  return BE_OK;
}
