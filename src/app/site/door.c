/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who asks, and what he may. This machine is its owner's: who sits at it may write the book anyway.
 */
#include "app/site/site.h"

#include <string.h>

/* The other end is a loopback address, or the very address that was reached: nobody else's packets
 * come back from there. */
static bool is_own(const char *peer, const char *local)
{
  return strncmp(peer, "127.", 4) == 0 || strcmp(peer, "[::1]") == 0 ||
         (*peer && strcmp(peer, local) == 0);
}

void be_door_look(const struct door *door, const struct be_request *request,
                  struct visitor *visitor)
{
  *visitor = (struct visitor){.role = BE_DEVICE_NOBODY};
  /* What another program passes on is not this machine's, wherever that program runs. */
  if (!request->relayed)
    visitor->here =
        door->is_here ? door->is_here(request->peer) : is_own(request->peer, request->local);
  if (visitor->here) {
    visitor->role = BE_DEVICE_OWNER;
    return;
  }
  const char *token = door->devices ? be_request_cookie(request, door->cookie) : NULL;
  if (token && be_devices_know(door->devices, token, &visitor->device))
    visitor->role = visitor->device.role;
}

bool be_door_opens(const struct visitor *visitor, const struct be_route *route, bool posts,
                   struct be_err *why)
{
  enum be_device_role role = visitor->role;
  unsigned kind = route ? route->kind : 0;
  enum be_device_role least = posts                   ? (route ? route->may_post : BE_DEVICE_OWNER)
                              : kind & BE_ROUTE_OWNER ? BE_DEVICE_OWNER
                              : kind & BE_ROUTE_OPEN  ? BE_DEVICE_NOBODY
                                                      : BE_DEVICE_LOOK;
  if (role <= least) return true;
  if (role == BE_DEVICE_NOBODY) {
    be_fail(why, BE_WRONG_USE, "this device is not paired");
    be_fail_remedy(why, "open the page /pair on it and type the code that stands at the bench");
  } else if (least == BE_DEVICE_BENCH) {
    be_fail(why, BE_WRONG_USE, "this device may look, and send nothing");
    be_fail_remedy(why,
                   "ask the owner for a code with the role bench, and type it on the page /pair");
  } else {
    be_fail(why, BE_WRONG_USE, "%s is the owner's alone",
            posts ? "what was sent here" : "this page");
    be_fail_remedy(why, "do it at the machine the program runs on, or pair this device by a code "
                        "with the role owner, on the page /pair");
  }
  return false;
}
