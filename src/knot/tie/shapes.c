/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/tie/statements.h"

static const double degree = 3.14159265358979323846 / 180;

static struct be_point plus(struct be_point a, struct be_point b, double times)
{
  return (struct be_point){a.x + times * b.x, a.y + times * b.y, a.z + times * b.z};
}

static struct be_point unit(struct be_point a)
{
  return plus((struct be_point){0, 0, 0}, a, 1 / norm(a));
}

/* Across an axis: 0 degrees is up the page (to the right where the axis runs up or at the reader),
 * 90 degrees towards the reader (up, where it runs at the reader). */
struct across {
  struct be_point axis, zero, ninety;
};

static struct across across_of(struct be_point axis)
{
  struct across a = {.axis = unit(axis)};
  struct be_point flat = {-a.axis.y, a.axis.x, 0}, up = {1, 0, 0};
  if (norm(flat) > 1e-6) {
    up = unit(flat);
    if (up.y < -1e-9 || (fabs(up.y) <= 1e-9 && up.x < 0))
      up = plus((struct be_point){0, 0, 0}, up, -1);
  }
  a.zero = up;
  a.ninety = cross(a.axis, up);
  if (a.ninety.z < -1e-9 || (fabs(a.ninety.z) <= 1e-9 && a.ninety.y < 0))
    a.ninety = plus((struct be_point){0, 0, 0}, a.ninety, -1);
  return a;
}

/* ---- coil ---- */

struct coil {
  double turns, hand, radius, from;
  bool from_told;
  struct be_point begin, end;
};

static enum be_status read_hand(struct reading *r, double *hand)
{
  const struct word *word = be_read_word(r);
  const struct name *name = be_names_look(&r->names, word->at, word->length);
  struct word said = name && !name->number ? name->word : *word;
  if (!be_word_is(&said, "right") && !be_word_is(&said, "left"))
    return be_tie_wrong(r->err, word->place, "a coil is right or left, not \"%.*s\"",
                        be_word_size(word), word->at);
  *hand = be_word_is(&said, "right") ? 1 : -1;
  return BE_OK;
}

static enum be_status expect(struct reading *r, const char *text, const char *example)
{
  struct place place = r->words.list[r->at].place;
  if (be_read_is(r, text)) return BE_OK;
  return be_tie_wrong(r->err, place, "\"%s\" is missing here, as in: %s", text, example);
}

static enum be_status read_coil(struct reading *r, struct coil *coil)
{
  static const char example[] = "coil 5 right along -8,0 to -2,0 at 1.2 from 90";
  bool given;
  enum be_status status = be_read_number(r, &coil->turns);
  if (status == BE_OK) status = read_hand(r, &coil->hand);
  if (status == BE_OK) status = expect(r, "along", example);
  if (status == BE_OK) status = be_read_point(r, &coil->begin, &given);
  if (status == BE_OK) status = expect(r, "to", example);
  if (status == BE_OK) status = be_read_point(r, &coil->end, &given);
  if (status == BE_OK) status = expect(r, "at", example);
  if (status == BE_OK) status = be_read_number(r, &coil->radius);
  coil->from_told = status == BE_OK && be_read_is(r, "from");
  return coil->from_told ? be_read_number(r, &coil->from) : status;
}

/* The angle that is nearest to where the line comes from. */
static double angle_of(const struct reading *r, const struct coil *coil, const struct across *a)
{
  if (coil->from_told) return coil->from * degree;
  if (r->here == (size_t)NONE) return 90 * degree;
  struct be_point out = minus(dots_of(r->line)[r->here].at, coil->begin);
  double up = dot(out, a->zero), near = dot(out, a->ninety);
  return hypot(up, near) > 1e-6 ? atan2(near, up) : 90 * degree;
}

enum be_status be_shape_coil(struct reading *r)
{
  enum { PER_TURN = 16 };
  struct coil coil;
  struct place place = r->words.list[r->at].place;
  enum be_status status = read_coil(r, &coil);
  if (status != BE_OK) return status;
  if (!(coil.turns > 0 && coil.turns <= 200) || !(coil.radius > 0))
    return be_tie_wrong(r->err, place, "a coil has more than no turns (200 at most), at a radius");
  if (!(distance(coil.begin, coil.end) > 1e-6))
    return be_tie_wrong(r->err, place, "a coil runs along from one point to another");
  struct be_point axis = minus(coil.end, coil.begin);
  struct across a = across_of(axis);
  double from = angle_of(r, &coil, &a);
  double sense = dot(cross(a.zero, a.ninety), a.axis) > 0 ? coil.hand : -coil.hand;
  int count = (int)ceil(coil.turns * PER_TURN);
  for (int i = 0; status == BE_OK && i <= count; i++) {
    double at = (double)i / count, angle = from + sense * at * coil.turns * 360 * degree;
    struct be_point p = plus(coil.begin, axis, at);
    p = plus(p, a.zero, coil.radius * cos(angle));
    p = plus(p, a.ninety, coil.radius * sin(angle));
    struct dot dot = {p, true, a.axis, place};
    status = be_sketch_dot(r, &dot);
  }
  return status;
}

/* ---- ring ---- */

static enum be_status read_facing(struct reading *r, struct be_point *facing)
{
  bool given;
  *facing = (struct be_point){be_read_is(r, "x"), 0, 0};
  if (facing->x == 0) facing->y = be_read_is(r, "y");
  if (facing->x + facing->y == 0) facing->z = be_read_is(r, "z");
  return norm(*facing) > 0 ? BE_OK : be_read_point(r, facing, &given);
}

/* Its place told by two numbers and no facing: it is drawn in the page as lines are. */
enum be_status be_shape_ring(struct reading *r, struct sketch *line)
{
  enum { DOTS = 48 };
  static const char example[] = "ring R round 0,0,0 facing x radius 3";
  struct place place = r->words.list[r->at].place;
  struct be_point centre = {0}, facing = {0, 0, 1};
  bool given, drawn = false;
  double radius = 0;
  enum be_status status = expect(r, "round", example);
  if (status == BE_OK) status = be_read_point(r, &centre, &given);
  if (status == BE_OK && be_read_is(r, "facing")) status = read_facing(r, &facing);
  else drawn = status == BE_OK && !given;
  if (status == BE_OK) status = expect(r, "radius", example);
  if (status == BE_OK) status = be_read_number(r, &radius);
  if (status != BE_OK) return status;
  if (!(norm(facing) > 1e-6) || !(radius > 0))
    return be_tie_wrong(r->err, place, "a ring faces somewhere, and has a radius");
  struct across a = across_of(facing);
  line->closed = true;
  for (int i = 0; status == BE_OK && i < DOTS; i++) {
    double angle = (i + 0.5) * 360 * degree / DOTS;
    struct dot dot = {.given = !drawn, .place = place};
    dot.at = plus(plus(centre, a.zero, radius * cos(angle)), a.ninety, radius * sin(angle));
    status = be_sketch_dot(r, &dot);
  }
  return status == BE_OK ? be_sketch_leg(r, 0, place) : status;
}

/* ---- lines made from other lines ---- */

struct change {
  struct be_point centre, times; /* about the centre, by 1 or -1 */
};

static double *part_of(struct be_point *p, const struct word *axis)
{
  return be_word_is(axis, "x") ? &p->x : be_word_is(axis, "y") ? &p->y : &p->z;
}

static enum be_status read_axis(struct reading *r, const char *before, const char *usual,
                                struct word *axis)
{
  *axis = (struct word){usual, 1, {0, 0}, false};
  if (!be_read_is(r, before)) return BE_OK;
  *axis = *be_read_word(r);
  if (be_word_is(axis, "x") || be_word_is(axis, "y") || be_word_is(axis, "z")) return BE_OK;
  return be_tie_wrong(r->err, axis->place, "an axis is x, y or z, not \"%.*s\"", be_word_size(axis),
                      axis->at);
}

static enum be_status read_change(struct reading *r, struct change *change, struct place place)
{
  struct word axis;
  bool given;
  enum be_status status;
  *change = (struct change){{0, 0, 0}, {1, 1, 1}};
  if (be_read_is(r, "turned")) {
    status = read_axis(r, "about", "z", &axis);
    if (status == BE_OK) {
      change->times = (struct be_point){-1, -1, -1};
      *part_of(&change->times, &axis) = 1;
    }
  } else if (be_read_is(r, "mirrored")) {
    status = read_axis(r, "across", "x", &axis);
    if (status == BE_OK) *part_of(&change->times, &axis) = -1;
  } else {
    return be_tie_wrong(r->err, place, "one line is another turned, mirrored or beside");
  }
  if (status == BE_OK && be_read_is(r, "at")) status = be_read_point(r, &change->centre, &given);
  return status;
}

static enum be_status copy_list(struct list *to, const struct list *from, size_t size,
                                struct reading *r)
{
  to->items = be_arena_alloc(r->scratch, (from->count + 1) * size);
  if (!to->items) return be_tie_no_memory(r->err);
  if (from->count) memcpy(to->items, from->items, from->count * size);
  to->count = to->capacity = from->count;
  return BE_OK;
}

static enum be_status copy_lists(struct reading *r, const struct sketch *from, struct sketch *line)
{
  enum be_status status = copy_list(&line->dots, &from->dots, sizeof(struct dot), r);
  if (status == BE_OK) status = copy_list(&line->legs, &from->legs, sizeof(struct leg), r);
  if (status == BE_OK) status = copy_list(&line->letters, &from->letters, sizeof(struct letter), r);
  if (status == BE_OK) status = copy_list(&line->steps, &from->steps, sizeof(struct step), r);
  return status;
}

static enum be_status lie_beside(struct reading *r, const struct sketch *from, struct sketch *line,
                                 struct place place)
{
  double side = 1;
  const struct word *next = &r->words.list[r->at];
  if (!next->first && next->length == 1 && (next->at[0] == '1' || next->at[0] == '2')) {
    enum be_status status = be_read_number(r, &side);
    if (status != BE_OK) return status;
  }
  for (size_t i = 0; i < from->steps.count; i++)
    if (steps_of(from)[i].side)
      return be_tie_wrong(r->err, place, "nothing can lie beside line %c, which is doubled itself",
                          from->letter);
  if (from->beside >= 0)
    return be_tie_wrong(r->err, place, "line %c lies beside another itself", from->letter);
  line->beside = (int)(from - r->sketches.line);
  line->side = side == 2 ? -1 : 1;
  return BE_OK;
}

enum be_status be_shape_copy(struct reading *r, const struct sketch *from, struct sketch *line)
{
  struct change change;
  struct place place = r->words.list[r->at].place;
  if (be_read_is(r, "beside")) return lie_beside(r, from, line, place);
  enum be_status status = read_change(r, &change, place);
  if (status == BE_OK && from->beside >= 0)
    return be_tie_wrong(r->err, place, "line %c lies beside another itself", from->letter);
  if (status == BE_OK) status = copy_lists(r, from, line);
  if (status != BE_OK) return status;
  struct be_point t = change.times, c = change.centre;
  for (size_t i = 0; i < line->dots.count; i++) {
    struct dot *d = &dots_of(line)[i];
    struct be_point p = minus(d->at, c);
    d->at = (struct be_point){c.x + t.x * p.x, c.y + t.y * p.y, c.z + t.z * p.z};
    if (!d->given) d->at.z = 0;
    d->side = (struct be_point){t.x * d->side.x, t.y * d->side.y, t.z * d->side.z};
  }
  /* Turned over in the page, a companion on the left comes to lie on the right. */
  for (size_t i = 0; t.x * t.y < 0 && i < line->steps.count; i++)
    steps_of(line)[i].side = (signed char)-steps_of(line)[i].side;
  for (size_t i = 0; t.z < 0 && i < line->letters.count; i++) {
    char *says = &letters_of(line)[i].says;
    *says = *says == 'o' ? 'u' : *says == 'u' ? 'o' : '.';
  }
  return BE_OK;
}
