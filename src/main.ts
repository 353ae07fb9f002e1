import { mount } from 'svelte';
import { offline } from './app/offline.svelte.ts';
import App from './ui/App.svelte';
import { mendAfterUncleanEnd } from './store/unclean-end.ts';
import './ui/style.css';

mount(App, { target: document.getElementById('app')! });

void mendAfterUncleanEnd();
void offline.start();
