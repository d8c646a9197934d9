#!/bin/sh
# usage: shells.sh BUILD. The shells complete as a person would have them: bash by the function that it would call, fish by
# `complete -C`, zsh in a terminal of its own (zpty), of which what it types is read.
set -eu

build=$1
source=$(cd "$(dirname "$0")/../.." && pwd)
completion=$source/src/cli/completion
fleet=$source/inventories/larkmoor
. "$(dirname "$0")/scratch.sh"
PATH=$build:$PATH
export PATH HOME="$scratch" XDG_CONFIG_HOME="$scratch" XDG_DATA_HOME="$scratch"
cd "$scratch"
mkdir folder
: >walk.txt

# in_bash LINE: candidates for its last word, one a line.
in_bash() {
  bash --norc --noprofile -c '
    source "$1"
    # As readline parts a line: = is a word of its own.
    read -ra COMP_WORDS <<<"${2//=/ = }"
    [[ $2 == *[\ =] ]] && COMP_WORDS+=("")
    COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    _vergeset 2>/dev/null
    printf "%s\n" "${COMPREPLY[@]}"' bash "$completion/vergeset.bash" "$1"
}
in_fish() {
  fish --no-config -c 'source $argv[1]; complete -C $argv[2]' "$completion/vergeset.fish" "$1" 2>/dev/null | cut -f 1
}
# in_zsh LINE...: what each line is once TAB was pressed, one a line.
in_zsh() {
  timeout 60 zsh -f -c '
    zmodload zsh/zpty
    zpty z zsh -f -i
    zpty -w z "PS1=; unsetopt zle_bracketed_paste; fpath=($1 \$fpath); autoload -Uz compinit; compinit -u -D"
    # A key that prints the line as it stands and throws it away.
    zpty -w z "tell() { print; print -r -- \"<<\$BUFFER>>\"; BUFFER= }; zle -N tell; bindkey \"^X^T\" tell; bindkey \"^I\" complete-word"
    zpty -w z "print rea\"\"dy"
    zpty -r -m z line "*ready*"
    for typed in "${@[2,-1]}"; do
      zpty -n -w z "$typed"$'"'\\t\\C-x\\C-t'"'
      zpty -r -m z line "*<<*>>*"
      print -r -- "${${line##*<<}%%>>*}"
    done
    zpty -d z' zsh "$completion" "$@"
}

# is SHELL LINE CANDIDATE...: exactly these.
is() {
  shell=$1 line=$2
  shift 2
  found=$("in_$shell" "$line" | sed '/^$/d' | sort | tr '\n' ' ')
  wanted=$(printf '%s\n' "$@" | sed '/^$/d' | sort | tr '\n' ' ')
  [ "$found" = "$wanted" ] || fail "$shell completes '$line' with '$found', not '$wanted'"
}

for shell in bash fish; do
  is $shell "vergeset rollb" rollback
  is $shell "vergeset help rollb" rollback
  is $shell "vergeset apply --dry" --dry-run
  is $shell "vergeset apply --dry-run --dr"
  is $shell "vergeset diff --fleet $fleet LK-13" LK-130 LK-131 LK-132 LK-133 LK-134 LK-135 LK-136 LK-137 LK-138 LK-139
  is $shell "vergeset diff --fleet $fleet --group sc" schools
  is $shell "vergeset diff --fleet $fleet --group schools --group cu" curves
  is $shell "vergeset diff --fleet $fleet --model rs" rsu-4.1
  is $shell "vergeset rekey --fleet $fleet --to l" larkmoor
  is $shell "vergeset where --fleet $fleet LK-104 position-t" position-tolerance
  is $shell "vergeset diff --fleet /nowhere LK"
  is $shell "vergeset no-such-command L"
done
# bash replaces what stands behind =, fish and zsh the whole word.
is bash "vergeset diff --fleet=$fleet --group=sc" schools
is fish "vergeset diff --fleet=$fleet --group=sc" --group=schools
is bash "vergeset check --fleet fo" folder
is bash "vergeset diff --walk wal" walk.txt
is fish "vergeset check --fleet fo" folder/
is fish "vergeset diff --walk wal" walk.txt

in_zsh "vergeset rollb" "vergeset diff --fleet $fleet --group sc" "vergeset diff --fleet=$fleet --group=sc" \
  "vergeset diff --fleet $fleet LK-12" "vergeset diff --fleet $fleet LK-136" "vergeset check --fleet fo" \
  "vergeset diff --fleet /nowhere LK" >zsh-has
# A blank behind a word says that it is whole.
sed 's/\$$//' >zsh-should <<EOF
vergeset rollback $
vergeset diff --fleet $fleet --group schools $
vergeset diff --fleet=$fleet --group=schools $
vergeset diff --fleet $fleet LK-12$
vergeset diff --fleet $fleet LK-136 $
vergeset check --fleet folder/$
vergeset diff --fleet /nowhere LK$
EOF
diff zsh-should zsh-has || fail "zsh makes other lines (>) than these (<)"
