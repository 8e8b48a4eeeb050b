package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"
)

const bashCompletion = `# dropcut completion for bash: eval "$(dropcut completion bash)"
_dropcut() {
  local cur=${COMP_WORDS[COMP_CWORD]} words=("${COMP_WORDS[@]:0:COMP_CWORD}") out
  if [[ $cur == -* ]]; then
    out=$("${words[@]}" "$cur" --generate-bash-completion 2>/dev/null)
  elif [[ $COMP_CWORD -eq 1 ]]; then
    out=$("${words[@]}" --generate-bash-completion 2>/dev/null)
  fi
  COMPREPLY=($(compgen -W "${out//:*/}" -- "$cur") $(compgen -f -- "$cur"))
}
complete -o filenames -F _dropcut dropcut
`

const zshCompletion = `#compdef dropcut
# dropcut completion for zsh: eval "$(dropcut completion zsh)"
_dropcut() {
  local -a opts
  if [[ ${words[CURRENT]} == -* ]]; then
    opts=("${(@f)$(${words[@]:0:#words[@]-1} ${words[CURRENT]} --generate-bash-completion 2>/dev/null)}")
  elif (( CURRENT == 2 )); then
    opts=("${(@f)$(${words[1]} --generate-bash-completion 2>/dev/null)}")
  fi
  (( ${#opts} )) && _describe 'dropcut' opts
  _files
}
compdef _dropcut dropcut
`

// The completion of PowerShell asks the program, as the others do, and leaves
// files to the shell.
const powershellCompletion = `# dropcut completion for PowerShell: dropcut completion powershell | Out-String | Invoke-Expression
Register-ArgumentCompleter -Native -CommandName dropcut, dropcut.exe -ScriptBlock {
    param($word, $ast, $cursor)
    $typed = @($ast.CommandElements | Where-Object { $_.Extent.EndOffset -lt $cursor -or $_.Extent.Text -ne $word } | Select-Object -Skip 1 | ForEach-Object { $_.Extent.Text })
    $program = $ast.CommandElements[0].Extent.Text
    if ($word -like '-*') {
        $found = & $program @typed $word --generate-bash-completion 2>$null
    } elseif ($typed.Count -eq 0) {
        $found = & $program --generate-bash-completion 2>$null
    } else {
        return
    }
    $found | ForEach-Object {
        $name, $about = $_ -split ':', 2
        if ($name -like "$word*") {
            [System.Management.Automation.CompletionResult]::new($name, $name, 'ParameterValue', $(if ($about) { $about } else { $name }))
        }
    }
}
`

func completionCommand(w *world) *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "prints the completion script of a shell",
		ArgsUsage: "bash|zsh|fish|powershell",
		Description: `Prints a script that completes commands, options and files.

EXAMPLE
   eval "$(dropcut completion bash)"
   dropcut completion fish > ~/.config/fish/completions/dropcut.fish`,
		Action: func(c *cli.Context) error {
			args, err := books(c, 1, 1)
			if err != nil {
				return err
			}
			switch args[0] {
			case "bash":
				_, err = io.WriteString(w.data, bashCompletion)
			case "zsh":
				_, err = io.WriteString(w.data, zshCompletion)
			case "fish":
				var script string
				if script, err = c.App.ToFishCompletion(); err == nil {
					_, err = fmt.Fprint(w.data, script)
				}
			case "powershell":
				_, err = io.WriteString(w.data, powershellCompletion)
			default:
				return usagef("%q is not one of bash, zsh, fish, powershell", args[0])
			}
			return err
		},
	}
}
