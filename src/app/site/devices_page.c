/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a device is let in, and put out again. */
#include "app/site/site.h"

#include <stdio.h>
#include <string.h>

enum { COOKIE_S = 400 * 24 * 3600 }; /* the longest a browser keeps one; the file is stricter */

static const char *const does[] = {[BE_DEVICE_OWNER] = "do everything",
                                   [BE_DEVICE_BENCH] = "look, and take pulls",
                                   [BE_DEVICE_LOOK] = "look"};

static void text(struct be_buf *html, const char *before, const char *value, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, value);
  be_buf_text(html, after);
}

static void say_wrong(struct be_doc *doc, const struct visit *visit)
{
  const struct be_err *wrong = &visit->wrong;
  if (wrong->status != BE_OK)
    be_doc_sentence(doc, "Not done: %s%s%s.", wrong->what, *wrong->remedy ? "; " : "",
                    wrong->remedy);
}

/* ---- /pair ---- */

static void pair_form(struct visit *visit)
{
  struct be_buf *html = &visit->html;
  const char *name = be_request_form(visit->request, "name");
  if (!name) name = visit->visitor.device.name;
  be_buf_text(
      html, "<section class=\"bench\" aria-label=\"Pairing\">\n"
            "<form method=\"post\" action=\"/pair\">\n"
            "<p class=\"field\"><label for=\"f-code\">The code that stands at the bench</label>"
            "<input id=\"f-code\" name=\"code\" autocomplete=\"off\" "
            "autocapitalize=\"characters\" spellcheck=\"false\" maxlength=\"20\" required></p>\n"
            "<p class=\"field\"><label for=\"f-name\">What this device is called, such as: tablet "
            "by the guard</label>");
  text(html,
       "<input id=\"f-name\" name=\"name\" autocomplete=\"off\" maxlength=\"60\" required "
       "value=\"",
       name, "\"></p>\n<button class=\"first\">Pair this device</button>\n");
  be_buf_text(html, "</form></section>\n");
}

enum be_status be_pair_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct visitor *visitor = &visit->visitor;
  struct be_pairing pairing;
  struct be_doc *doc = be_doc_create("pair", "Pair this device");
  if (!doc) return be_no_memory(err);
  say_wrong(doc, visit);
  if (visitor->here || !visit->door->devices) {
    be_doc_sentence(doc, visitor->here
                             ? "This is the machine that the program runs on: it needs no pairing."
                             : "No devices are paired here: only the machine that the program runs "
                               "on is served.");
    return be_doc_done(doc, BE_OK, out);
  }
  /* A code that is over is made anew, and told at the bench, when somebody comes to use it. */
  enum be_status status = be_devices_code(visit->door->devices, &pairing, err);
  if (visitor->role == BE_DEVICE_NOBODY)
    be_doc_sentence(doc,
                    "This device is not paired, or no longer: type the code that stands on the "
                    "screen at the bench, and what the device is called.");
  else
    be_doc_sentence(doc,
                    "This device is paired as \"%s\" (role %s): it may %s. Another code pairs "
                    "it anew.",
                    visitor->device.name, be_device_role_word(visitor->role), does[visitor->role]);
  if (visit->door->plain)
    be_doc_note(doc, "What is sent between this device and the bench can be read on this network.");
  pair_form(visit);
  return be_doc_done(doc, status, out);
}

enum be_status be_pair_post(struct visit *visit, struct be_err *err)
{
  const struct be_request *request = visit->request;
  const char *code = be_request_form(request, "code"), *name = be_request_form(request, "name");
  char token[BE_TOKEN + 1];
  if (visit->visitor.here || !visit->door->devices)
    return be_fail(err, BE_WRONG_USE, "no device can be paired from here");
  enum be_status status = be_devices_pair(visit->door->devices, code ? code : "", name ? name : "",
                                          visit->visitor.device.hash, token, err);
  struct be_reply *reply = visit->reply;
  if (status == BE_NO) reply->status = 403;
  if (status == BE_TOO_LARGE) reply->status = 429;
  if (status != BE_OK) return status;
  snprintf(reply->cookie, sizeof reply->cookie, "%s=%s", visit->door->cookie, token);
  reply->cookie_s = COOKIE_S;
  snprintf(reply->location, sizeof reply->location, "/");
  return BE_OK;
}

/* ---- /devices ---- */

static void device_row(struct be_table *table, const struct be_device *device)
{
  char paired[32], seen[32];
  be_time_text(device->paired_s, paired);
  be_time_text(device->seen_s, seen);
  be_table_text(table, "%s", device->name);
  be_table_text(table, "%s", be_device_role_word(device->role));
  be_table_text(table, "%.10s", paired);
  be_table_text(table, "%.10s %.5s", seen, *seen ? seen + 11 : "");
}

static void device_table(struct be_doc *doc, const struct be_device *list, size_t count)
{
  static const struct be_column columns[] = {
      {"device", "device", BE_COLUMN_TEXT, false},
      {"role", "role", BE_COLUMN_TEXT, false},
      {"paired", "paired", BE_COLUMN_TEXT, false},
      {"last_seen", "last seen (UTC)", BE_COLUMN_TEXT, false},
  };
  if (count == 0) return;
  struct be_table *table = be_doc_table(doc, "devices", "Paired devices", columns, 4);
  for (size_t i = 0; i < count; i++) device_row(table, &list[i]);
}

static void forget_forms(struct be_buf *html, const struct be_device *list, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    be_buf_format(html,
                  "<form method=\"post\"><input type=\"hidden\" name=\"do\" value=\"forget\">"
                  "<input type=\"hidden\" name=\"device\" value=\"%.*s\">\n",
                  BE_DEVICE_ID, list[i].hash);
    text(html, "<button>Forget ", list[i].name, "</button></form>\n");
  }
}

static void code_form(struct be_buf *html)
{
  be_buf_text(html, "<form method=\"post\"><input type=\"hidden\" name=\"do\" value=\"code\">\n"
                    "<p class=\"field\"><label for=\"f-role\">Another code, with the role</label>"
                    "<select id=\"f-role\" name=\"role\">");
  for (enum be_device_role role = BE_DEVICE_BENCH; role <= BE_DEVICE_LOOK; role++)
    be_buf_format(html, "<option value=\"%s\">%s: may %s</option>", be_device_role_word(role),
                  be_device_role_word(role), does[role]);
  be_buf_format(html, "<option value=\"owner\">owner: may %s</option>", does[BE_DEVICE_OWNER]);
  be_buf_text(html, "</select></p>\n<button class=\"first\">Make it</button></form>\n");
}

enum be_status be_devices_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  struct be_device list[BE_DEVICES_MAX];
  struct be_pairing pairing;
  struct be_err trouble;
  struct be_doc *doc = be_doc_create("devices", "Devices");
  if (!doc) return be_no_memory(err);
  say_wrong(doc, visit);
  if (!visit->door->devices) {
    be_doc_sentence(doc, "Only this machine is served. To pair devices, serve with --address.");
    return be_doc_done(doc, BE_OK, out);
  }
  enum be_status status = be_devices_code(visit->door->devices, &pairing, err);
  if (status != BE_OK) return be_doc_done(doc, status, out);
  size_t count = be_devices_list(visit->door->devices, list, &trouble);
  be_doc_sentence(doc,
                  "The code that pairs the next device is %.4s-%.4s: once, within %d minutes "
                  "of being made, with the role %s.",
                  pairing.code, pairing.code + 4, BE_CODE_MINUTES,
                  be_device_role_word(pairing.role));
  be_doc_sentence(doc, count == 1 ? "%zu device is paired." : "%zu devices are paired.", count);
  if (trouble.status != BE_OK)
    be_doc_sentence(doc, "The file of devices could not be written: %s.", trouble.what);
  device_table(doc, list, count);
  be_doc_note(doc, "A device that was not seen for %d days is forgotten by itself.",
              BE_DEVICE_UNSEEN_DAYS);
  if (visit->door->plain)
    be_doc_note(doc, "What is sent can be read on this network: with --certificate and --key it "
                     "cannot.");
  be_buf_text(&visit->html, "<section class=\"bench\" aria-label=\"Devices\">\n");
  code_form(&visit->html);
  forget_forms(&visit->html, list, count);
  be_buf_text(&visit->html, "</section>\n");
  return be_doc_done(doc, BE_OK, out);
}

enum be_status be_devices_post(struct visit *visit, struct be_err *err)
{
  struct be_devices *devices = visit->door->devices;
  const char *what = be_request_form(visit->request, "do");
  const char *device = be_request_form(visit->request, "device");
  const char *word = be_request_form(visit->request, "role");
  enum be_device_role role;
  if (!devices) return be_fail(err, BE_WRONG_USE, "only this machine is served");
  if (what && strcmp(what, "forget") == 0 && device) {
    enum be_status status = be_devices_forget(devices, device, err);
    if (status != BE_NO) be_live_site_send_away(visit->bench, device);
    return status == BE_NO ? be_fail(err, BE_WRONG_USE, "there is no such device any more")
                           : status;
  }
  if (what && strcmp(what, "code") == 0 && word && be_device_role_read(word, &role))
    return be_devices_new_code(devices, role, err);
  return be_fail(err, BE_WRONG_USE, "the form does not say what is to be done");
}
