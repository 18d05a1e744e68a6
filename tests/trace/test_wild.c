/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts met in the wild, with numbers of our own: each source writes the same
 * pull, or one of the kind that it recorded, in its own way. */
#include "trace_test.h"

enum { ROWS = 60, TEXT = 32 * 1024 };

/* ---- one pull in every layout ---- */

/* A cell as text with a decimal point: row i of time, force or extension. */
static void cell_text(size_t i, enum be_role role, char text[32])
{
  size_t force = i < 45 ? 37 * i + i * i % 11 : 20 + i * 7 % 13;
  if (role == BE_ROLE_TIME) snprintf(text, 32, "%zu.%02zu", i / 50, i % 50 * 2);
  if (role == BE_ROLE_FORCE) snprintf(text, 32, "%zu.%zu", force, i * 3 % 10);
  if (role == BE_ROLE_EXTENSION) snprintf(text, 32, "%zu.%03zu", i / 9, (i * 113 + i % 2) % 1000);
}

struct form {
  const char *head;  /* whole lines */
  const char *order; /* t, F, x, - for an empty cell, n for a row number, s for a word */
  const char *delimiter, *eol;
  char decimal;
  const char *thousands;      /* empty: none */
  const char *before, *after; /* each number */
  const char *force_unit;     /* behind the force */
  bool last_line_open;
};

static const struct form forms[] = {
    {"t (s),F (N),x (mm)\n", "tFx", ",", "\n", '.', "", "", "", "", false},
    {"t (s);F (N);x (mm)\r\n", "tFx", ";", "\r\n", ',', "", "", "", "", true},
    {"sep=;\r\nF (N);x (mm);t (s)\r\n", "Fxt", ";", "\r\n", ',', ".", "", "", "", false},
    {"Zeit [s]\tKraft [N]\tWeg [mm]\n", "tFx", "\t", "\n", ',', "", "", "", "", true},
    {"Zeit [s]\tKraft [N]\tWeg [mm]\n", "tFx", "\t", "\n", ',', " ", "", "", "", false},
    {"Temps;Effort;Course\n(s);(N);(mm)\n", "tFx", ";", "\n", ',', "\u202F", "", "", "", false},
    {"Tempo (s);Forza (N);Corsa (mm)\n", "tFx", ";", "\n", '.', "'", "", "", "", false},
    {"Tempo (s);For\u00E7a (N);Curso (mm)\n", "tFx", ";", "\n", ',', "\u00A0", "", "", "", false},
    {"t (s),F (N),x (mm)\n", "tFx", ",", "\n", '.', ",", "\"", "\"", "", false},
    {"t (s),F (N),x (mm)\n", "tFx", ",", "\n", ',', ".", "\"", "\"", "", true},
    {"t (s), F (N), x (mm)\n", "tFx", ", ", "\n", '.', "", "", "", "", false},
    {"t (s) ; F (N) ; x (mm)\n", "tFx", " ; ", "\n", ',', "", "", "", "", false},
    {"# t (s)   F (N)   x (mm)\n", "tFx", "   ", "\n", '.', "", "", "", "", false},
    {"% t (s) F (N) x (mm)\r\n", "tFx", " ", "\r\n", ',', "", "", "", "", false},
    {"; t (s); F (N); x (mm)\n", "tFx", ";", "\n", '.', "", "", "", "", false},
    {"' t (s), F (N), x (mm)\n", "tFx", ",", "\n", '.', "", "", "", "", false},
    {"// t (s),F (N),x (mm)\n", "tFx", ",", "\n", '.', "", "", "", "", false},
    {"t (s)  F (N)  x (mm)\n-----  -----  ------\n", "tFx", "  ", "\n", '.', "", "", "", "", false},
    {",t (s),,F (N),x (mm),\n", "-t-Fx-", ",", "\n", '.', "", "", "", "", false},
    {"No.,t (s),F (N),x (mm)\n", "ntFx", ",", "\n", '.', "", "", "", "", false},
    {"State,t (s),F (N),x (mm)\n", "stFx", ",", "\n", '.', "", "", "", "", false},
    {"t (s);F;x (mm)\n", "tFx", ";", "\n", ',', ".", "", "", "N", false},
    {"t (s)\tF\tx (mm)\n", "tFx", "\t", "\n", '.', ",", "", "", " N", false},
    {"F (N),t (s),x (mm)\n", "Ftx", ",", "\n", '.', "", "+", "", "", false},
    {"Place: North, Hall 3, Bay 2\nSpeed,5,mm/min\nWidth,3,mm\n\nt (s),F (N),x (mm)\n", "tFx", ",",
     "\n", '.', "", "", "", "", false},
    {"2026,03,01\n09,30,00\nt (s),F (N),x (mm)\n", "tFx", ",", "\n", '.', "", "", "", "", false},
    {"t,F,x\ns,N,mm\nthe record starts\n", "tFx", ",", "\n", '.', "", "", "", "", false},
};

static void put_number(const struct form *form, const char *plain, bool force, char *out,
                       size_t size)
{
  size_t whole = strcspn(plain, "."), used = (size_t)snprintf(out, size, "%s", form->before);
  for (size_t k = 0; k < whole; k++) {
    bool mark = k > 0 && (whole - k) % 3 == 0;
    used +=
        (size_t)snprintf(out + used, size - used, "%s%c", mark ? form->thousands : "", plain[k]);
  }
  snprintf(out + used, size - used, "%c%s%s%s", form->decimal, plain + whole + 1,
           force ? form->force_unit : "", form->after);
}

static size_t put_form(const struct form *form, char text[TEXT])
{
  size_t length = (size_t)snprintf(text, TEXT, "%s", form->head);
  for (size_t i = 0; i < ROWS; i++) {
    for (const char *c = form->order; *c; c++) {
      char plain[32] = "", cell[64] = "";
      enum be_role role = *c == 't' ? BE_ROLE_TIME : *c == 'F' ? BE_ROLE_FORCE : BE_ROLE_EXTENSION;
      if (*c == 'n') snprintf(cell, sizeof cell, "%zu", i + 1);
      if (*c == 's') snprintf(cell, sizeof cell, i < 40 ? "ST" : "US");
      cell_text(i, role, plain);
      if (strchr("tFx", *c)) put_number(form, plain, *c == 'F', cell, sizeof cell);
      length +=
          (size_t)snprintf(text + length, TEXT - length, "%s%s", cell, c[1] ? form->delimiter : "");
    }
    bool open = form->last_line_open && i + 1 == ROWS;
    length += (size_t)snprintf(text + length, TEXT - length, "%s", open ? "" : form->eol);
  }
  return length;
}

static void every_layout_gives_the_same_bits(void **state)
{
  (void)state;
  static char text[TEXT];
  for (size_t k = 0; k < sizeof forms / sizeof forms[0]; k++) {
    size_t size = put_form(&forms[k], text);
    struct be_trace_file *file = NULL;
    struct be_err err = {0};
    enum be_status status = be_trace_read_bytes(text, size, NULL, &file, &err);
    if (status != BE_OK) print_error("form %zu: %zu:%zu: %s\n", k, err.line, err.column, err.what);
    assert_int_equal(status, BE_OK);
    assert_int_equal(file->count, 1);
    const struct be_trace *trace = &file->tests[0];
    assert_int_equal(trace->n, ROWS);
    assert_int_equal(trace->layout->decimal, forms[k].decimal);
    assert_int_not_equal(trace->layout->decimal_why[0], 0);
    assert_int_not_equal(trace->layout->delimiter_why[0], 0);
    assert_non_null(trace->time_s);
    assert_non_null(trace->extension_m);
    for (size_t i = 0; i < ROWS; i++) {
      char plain[32];
      cell_text(i, BE_ROLE_FORCE, plain);
      double want = strtod(plain, NULL);
      if (memcmp(&trace->force_N[i], &want, sizeof want) != 0) print_error("form %zu\n", k);
      assert_memory_equal(&trace->force_N[i], &want, sizeof want);
      cell_text(i, BE_ROLE_TIME, plain);
      want = strtod(plain, NULL);
      assert_memory_equal(&trace->time_s[i], &want, sizeof want);
      cell_text(i, BE_ROLE_EXTENSION, plain);
      want = strtod(plain, NULL) * 1e-3;
      assert_memory_equal(&trace->extension_m[i], &want, sizeof want);
    }
    be_trace_file_free(file);
  }
}

/* ---- the sources ---- */

/* Tabs, decimal comma, 8-bit letters, units in the names; the columns of a
 * second plot are empty in every row; no time. */
static void a_second_plot_may_be_empty(void **state)
{
  (void)state;
  static const char head[] = "Posi\xE7\xE3o (mm) - Plot 0\tFor\xE7"
                             "a (N) - Plot 0\t"
                             "Posi\xE7\xE3o (mm) - Plot 1\tFor\xE7"
                             "a (N) - Plot 1\n";
  char text[TEXT];
  int length = snprintf(text, sizeof text, "%s", head);
  for (int i = 0; i < 80; i++)
    length += snprintf(text + length, sizeof text - (size_t)length, "%d,%03d\t%d,%d\t\t\n", i / 50,
                       i * 20 % 1000, i < 60 ? 4 * i + i % 3 : -(i % 7), i % 10);
  struct be_trace_file *file = read_with(text, (size_t)length, NULL);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->n, 80);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[1].sureness, BE_SURE);
  assert_string_equal(trace->layout->columns[3].why, "no numbers in it");
  assert_null(trace->time_s);
  assert_near(trace->force_N[59], 4 * 59 + 59 % 3 + 0.9, 1e-12);
  be_trace_file_free(file);
}

/* Tabs, units in square brackets, extension that repeats; no time. */
static void extension_may_repeat(void **state)
{
  (void)state;
  char text[TEXT] = "Desplaz. [mm]\tFuerza [N]\n";
  for (int i = 0; i < 90; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%.9g\t%.4g\n",
             0.0233141592 * (i - i % 5 / 4), 0.763 * (i * 3 - 1));
  struct be_trace_file *file = read_text(text);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->n, 90);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_EXTENSION);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_near(trace->force_N[0], -0.763, 1e-12);
  assert_near(trace->extension_m[4], trace->extension_m[3], 0);
  be_trace_file_free(file);
}

/* Everything in quotes, CRLF, key and value lines with their units, a blank line,
 * names, units with one empty, stress and strain beside the force. */
static void quotes_and_keys_are_read(void **state)
{
  (void)state;
  char text[TEXT] = "Sample label,\"17\"\r\nLength,\"21.35\",mm\r\nDiameter,\"0.31\",mm\r\n"
                    "Rate,\"5\",mm/min\r\n\r\n"
                    "\"Extension\",\"Load\",\"Stress\",\"Time\",\"Cycle\",\"Tenacity\","
                    "\"Displacement\",\"Strain\"\r\n(mm),(N),(MPa),(s),,(N/tex),(mm),(mm/mm)\r\n";
  for (int i = 0; i < 70; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text),
             "\"%.5f\",\"%.5f\",\"%.3f\",\"%.2f\",\"1\",\"%.4f\",\"%.5f\",\"%.5f\"\r\n",
             0.000833 * i, i < 60 ? 0.07 * i : 0.4, i < 60 ? 0.9 * i : 5.1, 0.01 * i, 0.002 * i,
             0.000833 * i, 0.00004 * i);
  struct be_trace_file *file = read_text(text);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_EXTENSION);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[3].role, BE_ROLE_TIME);
  for (size_t c = 4; c < 8; c++) assert_int_equal(trace->layout->columns[c].role, BE_ROLE_NONE);
  assert_near(trace->force_N[59], 4.13, 1e-12);
  assert_near(trace->time_s[59], 0.59, 0);
  assert_int_equal(trace->line[0], 8);
  assert_near(trace->layout->interval_s, 0, 0);
  be_trace_file_free(file);
}

/* No head at all: a gap that closes and opens, then the force with its noise. */
static void a_gap_and_a_force_without_names(void **state)
{
  (void)state;
  char text[TEXT] = "";
  for (int i = 0; i < 200; i++) {
    double gap = i < 100 ? 13.5 - 0.08 * i : 5.5 + 0.08 * (i - 100);
    double force =
        i < 80 || i > 125 ? 0.002 * (i * 7 % 5 - 2) : 20.2 - 0.03 * (i - 100) * (i - 100);
    snprintf(text + strlen(text), sizeof text - strlen(text), "%.4f,%.5g\n", gap, force);
  }
  struct be_trace_file *file = read_text(text);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->n, 200);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_EXTENSION);
  assert_int_equal(trace->layout->columns[0].sureness, BE_GUESS);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[1].sureness, BE_GUESS);
  be_trace_file_free(file);
}

/* A byte order mark, a time stamp, the interval, quoted names and units, and two
 * signals in volts, each with its own time. */
static void two_signals_in_volts(void **state)
{
  (void)state;
  char text[TEXT] = "\xEF\xBB\xBF"
                    "2021-03-04 10:11:12\r\nInterval,0.0005\r\n"
                    "\"Time\",\"Input 0\",\"Time\",\"Input 1\"\r\n\"s\",\"V\",\"s\",\"V\"\r\n";
  for (int i = 0; i < 60; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%.4f,%.6f,%.4f,%.6f\r\n", 0.0005 * i,
             -0.125 - 0.01 * (i < 50 ? i : 0), 0.0005 * i, 0.31 + 0.001 * (i % 3));
  fail_text(text, BE_ASK, "volts");
  struct be_trace_options options = {.force_scale_N = -200, .force_zero = -0.125};
  struct be_trace_file *file = read_with(text, strlen(text), &options);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_TIME);
  assert_int_equal(trace->layout->columns[3].role, BE_ROLE_NONE);
  assert_non_null(strstr(trace->layout->columns[3].why, "volts"));
  assert_near(trace->force_N[49], 98, 1e-9);
  be_trace_file_free(file);
}

/* ---- the head ---- */

static void an_interval_in_the_head_gives_the_times(void **state)
{
  (void)state;
  static const struct {
    const char *head;
    double interval;
    const char *why;
  } cases[] = {
      {"Interval,0.0005\nForce (N)\n", 0.0005, "line 1 of the file states it, seconds taken"},
      {"Sample rate: 2000 Hz\nForce (N)\n", 0.0005, "line 1 of the file states it"},
      {"Rig;7\nAbtastrate;50;Hz\nKraft (N)\n", 0.02, "line 2"},
      {"sampling interval = 20 ms\nForce (N)\n", 0.02, "line 1"},
      {"# Interval (ms): 20\nForce (N)\n", 0.02, "line 1"},
      {"\"\u0394t\",\"0.25\",\"s\"\nForce (N)\n", 0.25, "line 1"},
      {"Rate: 1 kHz\nForce (N)\n", 0.001, "line 1"},
      {"采样频率: 80 Hz\n力 (牛)\n", 0.0125, "line 1"},
      {"Interval: 20\nForce (N)\n", 0, "without a unit: not used"},
      {"Rate: 5 mm/min\nForce (N)\n", 0, ""},
      {"Rest interval between pulls: 60 s\nForce (N)\n", 0, ""},
      {"Interval: 0 s\nForce (N)\n", 0, ""},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[400];
    snprintf(text, sizeof text, "%s1.5\n2.5\n7.5\n3.5\n", cases[i].head);
    struct be_trace_file *file = read_text(text);
    const struct be_trace *trace = &file->tests[0];
    if (!strstr(trace->layout->interval_why, cases[i].why)) print_error("%s\n", cases[i].head);
    assert_non_null(strstr(trace->layout->interval_why, cases[i].why));
    assert_near(trace->layout->interval_s, cases[i].interval, 1e-18);
    assert_true((trace->time_s != NULL) == (cases[i].interval > 0));
    if (trace->time_s) assert_near(trace->time_s[3], 3 * cases[i].interval, 1e-16);
    be_trace_file_free(file);
  }
  struct be_trace_file *file = read_text("Interval: 20 ms\nt (s);F (N)\n0;1.5\n0.5;2.5\n1;4.5\n");
  assert_near(file->tests[0].time_s[2], 1, 0); /* the times of the file come first */
  assert_near(file->tests[0].layout->interval_s, 0, 0);
  be_trace_file_free(file);
}

static void a_unit_in_the_head_is_used(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Rig: 7\nForce unit: kgf\nTime unit: ms\nTime,Load\n"
                                         "0,1.5\n20,2.5\n40,7.5\n60,3.5\n");
  const struct be_trace_layout *layout = file->tests[0].layout;
  assert_string_equal(layout->columns[1].unit->name, "kg");
  assert_int_equal(layout->columns[1].sureness, BE_LIKELY);
  assert_non_null(strstr(layout->columns[1].why, "line 2 of the file states the unit"));
  assert_near(file->tests[0].force_N[2], 7.5 * 9.80665, 1e-12);
  assert_near(file->tests[0].time_s[3], 0.06, 1e-15);
  be_trace_file_free(file);
  file = read_text("Einheit;kN\nZeit;Kraft (N)\n0,1;1,5\n0,2;2,5\n0,3;7,5\n");
  assert_string_equal(file->tests[0].layout->columns[1].unit->name, "N"); /* its own comes first */
  be_trace_file_free(file);
}

static void times_of_day_go_on_past_midnight(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Date;Time;Load (N)\n04.03.2026;23:59:59:500;1.5\n"
                                         "05.03.2026;00:00:00:000;2.5\n05.03.2026;0:00:00:500;7\n"
                                         "05.03.2026;0:00:01:000;3\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_TIME);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_NONE);
  for (size_t i = 0; i < 4; i++) assert_near(trace->time_s[i], 86399.5 + 0.5 * (double)i, 0);
  be_trace_file_free(file);
}

static void readings_that_are_as_good_are_both_shown(void **state)
{
  (void)state;
  static const struct {
    const char *text, *one, *other, *remedy;
  } cases[] = {
      {"12,5\n13,7\n12,9\n", "12.5 with a comma for its decimal mark", "12 and 5 in two columns",
       "--decimal comma or --decimal point"},
      {"1 234,5\n1 240,5\n1 250,1\n", "2 numbers", "one number with spaces", "--columns force=1"},
      {"7,5,12,13\n3,6,13,14\n9,7,11,15\n", "4 whole numbers", "2 numbers with commas",
       "--decimal point"},
      {"7;1,234\n9;1,240\n8;1,239\n", "1.234 with a comma", "1234 with one between thousands",
       "--decimal comma"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_err err = fail_text(cases[i].text, BE_ASK, cases[i].one);
    assert_non_null(strstr(err.what, cases[i].other));
    assert_non_null(strstr(err.remedy, cases[i].remedy));
    assert_int_equal(err.line, 1);
  }
  fail_text("t,F\n1,2,5\n2,3,7\n3,9,1\n", BE_BAD_INPUT, "both for decimals");
  fail_text("t,F\n0.1,1,234.5\n0.2,1,235.5\n0.3,1,111.5\n", BE_BAD_INPUT, "between thousands");
  fail_text("0.1,1,234.5\n0.2,1,235.5\n0.3,1,011.5\n", BE_BAD_INPUT, "between thousands");
}

/* Names that do not stand above their columns. */
static void names_are_put_above_their_columns(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    size_t force, time;
    const char *unit;
  } cases[] = {
      {"Load, N, Time, s\n7,0.1\n9,0.2\n8,0.3\n", 0, 1, "N"},
      {"Time,Load (N)\n1,0.1,7\n2,0.2,9\n3,0.3,8\n4,0.4,6\n", 2, 1, "N"},
      {"Time,Load,Note\n(s),(N)\n0.1,7\n0.2,9\n0.3,8\n", 1, 0, "N"},
      {"\"Time, elapsed\",\"Load, N\"\n0.1,7\n0.2,9\n0.3,8\n", 1, 0, "N"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_trace_file *file = read_text(cases[i].text);
    const struct be_trace_column *columns = file->tests[0].layout->columns;
    if (columns[cases[i].force].role != BE_ROLE_FORCE) print_error("%s\n", cases[i].text);
    assert_int_equal(columns[cases[i].force].role, BE_ROLE_FORCE);
    assert_int_equal(columns[cases[i].time].role, BE_ROLE_TIME);
    assert_string_equal(columns[cases[i].force].unit->name, cases[i].unit);
    be_trace_file_free(file);
  }
}

static void strange_units_below_names_are_refused(void **state)
{
  (void)state;
  struct be_err err = fail_text("Time;Load\ns;Pfund\n0;1.5\n1;2.5\n2;3\n", BE_BAD_INPUT, "Pfund");
  assert_int_equal(err.column, 2);
  fail_text("Time (s);Load (kN/m)\n0;1.5\n1;2.5\n2;3\n", BE_BAD_INPUT, "kN/m");
  struct be_trace_file *file = read_text("Time (s);Load (pound force)\n0;1.5\n1;2.5\n2;3\n");
  assert_string_equal(file->tests[0].layout->columns[1].unit->name, "lb");
  be_trace_file_free(file);
}

static void stamps_above_rows_are_no_rows(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text(
      "2026,03,01\n09,30,00\n0,1.5,0.31\n0.1,2.5,1.25\n0.2,9,1.5\n0.3,4,3.75\n0.4,4.5,4\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->line[0], 3);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_TIME);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  be_trace_file_free(file);
  /* Numbers that are no rows of a trace, above names that are. */
  file = read_text("1001,5\n1002,7\nt (s),F (N)\n0,1.5\n0.1,2.5\n0.2,7\n");
  assert_int_equal(file->count, 1);
  assert_int_equal(file->tests[0].line[0], 4);
  assert_int_equal(file->tests[0].layout->header_lines, 3);
  be_trace_file_free(file);
}

/* A third of the rows without a force at the end is no slack end; a few are. */
static void a_force_that_stops_is_refused(void **state)
{
  (void)state;
  char text[4000] = "time (s),load (N)\n";
  for (int i = 0; i < 60; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), i < 40 ? "%d,%d.5\n" : "%d,\n", i, i);
  struct be_err err = fail_text(text, BE_BAD_INPUT, "the last 20 of 60 rows have none");
  assert_int_equal(err.line, 42);
  assert_int_equal(err.column, 2);
  strcpy(text, "time (s),load (N)\n");
  for (int i = 0; i < 60; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), i < 51 ? "%d,%d.5\n" : "%d,nan\n", i,
             i);
  struct be_trace_file *file = read_text(text);
  assert_int_equal(file->tests[0].n, 51);
  assert_int_equal(file->tests[0].skipped_rows, 9);
  be_trace_file_free(file);
}

/* "(min)" is a minute there, not a minimum. */
static void a_unit_is_no_word(void **state)
{
  (void)state;
  struct be_trace_file *file =
      read_text("Temps (min);Effort (N);F min (N)\n0;1,5;1\n0,1;2,5;1\n0,2;9,5;1\n0,3;0,5;1\n");
  const struct be_trace_layout *layout = file->tests[0].layout;
  assert_int_equal(layout->columns[0].role, BE_ROLE_TIME);
  assert_int_equal(layout->columns[0].sureness, BE_SURE);
  assert_near(file->tests[0].time_s[1], 6, 1e-12);
  assert_int_not_equal(layout->columns[2].role, BE_ROLE_FORCE);
  be_trace_file_free(file);
}

/* A note of its own in every row, with blanks in it. */
static void notes_may_stand_behind_the_numbers(void **state)
{
  (void)state;
  char text[2000] = "time (s),force (N),note\n";
  for (int i = 0; i < 30; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "0.%02d,2%d.5,row %d of 30\n", i,
             i % 10, i);
  struct be_trace_file *file = read_text(text);
  assert_int_equal(file->tests[0].layout->delimiter, ',');
  assert_int_equal(file->tests[0].layout->columns_count, 3);
  assert_int_equal(file->tests[0].n, 30);
  assert_near(file->tests[0].as_written.peak, 29.5, 0);
  be_trace_file_free(file);
}

/* What weighing indicators send: states, signs with blanks, units; a sign that
 * stands alone would be lost. */
static void indicators_send_states_and_signs(void **state)
{
  (void)state;
  struct be_trace_file *file =
      read_text("ST,GS,+   1.5,kg\nST,GS,-   2.5,kg\nST,GS,+  12.5,kg\nUS,GS,+   9.5,\n"
                "US,GS,+   4.5,kg\nOL,GS,^^^^^^^,kg\nST,GS,+   0.5,kg\n");
  const struct be_trace *trace = &file->tests[0];
  assert_near(trace->force_N[1], -2.5 * 9.80665, 1e-12);
  assert_string_equal(trace->layout->columns[2].unit->name, "kg");
  assert_int_equal(trace->over_rows, 1);
  assert_int_equal(trace->n, 6);
  be_trace_file_free(file);
  struct be_err err = fail_text("0.1 + 12.5\n0.2 + 13.5\n0.3 + 14.5\n0.4 + 12\n0.5 + 2\n0.6 - 9\n",
                                BE_BAD_INPUT, "sign stands apart");
  assert_int_equal(err.column, 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_layout_gives_the_same_bits),
      cmocka_unit_test(a_second_plot_may_be_empty),
      cmocka_unit_test(extension_may_repeat),
      cmocka_unit_test(quotes_and_keys_are_read),
      cmocka_unit_test(a_gap_and_a_force_without_names),
      cmocka_unit_test(two_signals_in_volts),
      cmocka_unit_test(an_interval_in_the_head_gives_the_times),
      cmocka_unit_test(a_unit_in_the_head_is_used),
      cmocka_unit_test(times_of_day_go_on_past_midnight),
      cmocka_unit_test(readings_that_are_as_good_are_both_shown),
      cmocka_unit_test(names_are_put_above_their_columns),
      cmocka_unit_test(strange_units_below_names_are_refused),
      cmocka_unit_test(stamps_above_rows_are_no_rows),
      cmocka_unit_test(a_force_that_stops_is_refused),
      cmocka_unit_test(a_unit_is_no_word),
      cmocka_unit_test(notes_may_stand_behind_the_numbers),
      cmocka_unit_test(indicators_send_states_and_signs),
  };
  return be_tests("trace: layouts in the wild", tests);
}
