# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of bitterend for bash: the commands, then each command's own options, and files.
_bitterend() {
  local word=${COMP_WORDS[COMP_CWORD]} words
  if [ "$COMP_CWORD" -eq 1 ]; then
    words="read new enter pull rig strength standings versus findings plan next anatomy merge publish serve check demo --help"
  elif [[ $word == -* ]]; then
    words="--help $("${COMP_WORDS[0]}" "${COMP_WORDS[1]}" --help 2>/dev/null |
      grep '^  --' | grep -o -e '--[a-z][a-z-]*')"
  else
    COMPREPLY=($(compgen -f -- "$word"))
    return
  fi
  COMPREPLY=($(compgen -W "$words" -- "$word"))
}
complete -o filenames -F _bitterend bitterend
